"""What every ruin and recreate search starts from, and how many rounds it runs between two looks at the clock."""

from __future__ import annotations

from typing import Any

import numpy as np

BLOCK_WORK = 500_000  # rounds at a time, in pieces of a sheet squared, at most


def first_state(seed: int) -> Any:
    """The random state of a seed: any odd multiplier spreads small seeds over the word, which must not be 0."""
    return np.array([(88172645463325252 ^ (seed * 0x9E3779B97F4A7C15)) % 2**64 or 1], np.uint64)


def rounds_at_once(most: int, pieces: int, sheets: int) -> int:
    """Fewer than `most` rounds where a sheet holds many pieces: a round takes their number squared."""
    return max(1, min(most, BLOCK_WORK // (pieces // max(1, sheets) + 1) ** 2))
