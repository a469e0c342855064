"""The most complete sets that can be put together from what is made."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

STEPS = 20_000
MOST_TOGETHER = 12

Needs = tuple[tuple[str, int], ...]


def most_sets(made: Mapping[str, int], sets: Sequence[tuple[str, Needs]]) -> tuple[int, int]:
    """At least and at most how many sets are complete; equal but for many sets that share blanks in a knotty way.

    Sets that share no blank do not hinder each other: of each as many as its scarcest blank allows. Those that share
    are counted by branch and bound. Every need is 1 or more.
    """
    low = high = 0
    for group in _groups(sets):
        least, most = _together(made, group)
        low, high = low + least, high + most
    return low, high


def _groups(sets: Sequence[tuple[str, Needs]]) -> list[list[dict[str, int]]]:
    groups: list[tuple[set[str], list[dict[str, int]]]] = []
    for _, needs in sets:
        names, members = {blank for blank, _ in needs}, [dict(needs)]
        apart = []
        for other, theirs in groups:
            if names & other:
                names, members = names | other, theirs + members
            else:
                apart.append((other, theirs))
        groups = [*apart, (names, members)]
    return [members for _, members in groups]


def _each(left: Mapping[str, int], needs: Mapping[str, int]) -> int:
    return min(left[blank] // count for blank, count in needs.items())


def _bound(left: Mapping[str, int], group: Sequence[Mapping[str, int]]) -> int:
    """At most how many of a group: each alone, and for each blank as if only that one were shared, least needs first."""
    caps = [max(0, _each(left, needs)) for needs in group]
    best = sum(caps)
    for blank in {b for needs in group for b in needs}:
        stock, total = left[blank], 0
        for need, cap in sorted((needs.get(blank, 0), cap) for needs, cap in zip(group, caps, strict=True)):
            take = cap if need == 0 else min(cap, stock // need)
            total, stock = total + take, stock - take * need
            if take < cap:
                break  # the next need at least as much each, so what is left feeds none of them
        best = min(best, total)
    return best


def _together(made: Mapping[str, int], group: list[dict[str, int]]) -> tuple[int, int]:
    """Best found and a limit, for sets that share blanks."""
    if len(group) == 1:
        one = max(0, _each(made, group[0]))
        return one, one
    group = sorted(group, key=lambda needs: (sum(needs.values()), sorted(needs.items())))
    limit = _bound(made, group)
    best = steps = 0

    def search(index: int, left: Mapping[str, int], have: int) -> None:
        nonlocal best, steps
        if index == len(group) or index == MOST_TOGETHER:
            best = max(best, have)
            return
        needs = group[index]
        for count in range(max(0, _each(left, needs)), -1, -1):
            steps += 1
            if steps > STEPS or best == limit:
                return
            rest = {blank: stock - count * needs.get(blank, 0) for blank, stock in left.items()}
            if have + count + _bound(rest, group[index + 1 :]) > best:
                search(index + 1, rest, have + count)

    search(0, {blank: made[blank] for needs in group for blank in needs}, 0)
    settled = best == limit or (steps <= STEPS and len(group) <= MOST_TOGETHER)
    return best, best if settled else limit
