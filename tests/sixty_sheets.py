"""Sixty salvaged sheets as a maker would type them in an evening; a fixture for import, contact sheet and planning."""

from __future__ import annotations

HEAD = """# sixty sheets from a print shop that closed: wallpaper samples, theatre bills, sheet music
unit mm
kind salvaged
material cover
source wallpaper samples
"""


def sixty_sheets() -> str:
    """The text of a description file of sixty sheets, many shapes, with comments, headers, like and squares."""
    lines = [HEAD]
    for i in range(1, 13):  # sample leaves, one edge torn out of the book
        side, size = "LRTB"[i % 4], f"{380 + 7 * i} x {290 + 5 * (i % 5)}"
        lines.append(f"{i}: {size}; torn {side} {6 + i}; grain {('up', 'across')[i % 2]}; print up")
    lines += ["", "source theatre bills", "true L B", "print up"]
    for i in range(13, 25):  # bills off a wall: corners gone, nail holes, paste stains
        at = 20 * (i - 12)
        corner = ("TL", "TR", "BR")[i % 3]
        lines.append(
            f"bill-{i}: {300 + 4 * (i - 12)} x {430 + 3 * (i - 12)}; clip {corner} {18 + i} by {25 + i}; "
            f"bad R {at} to {at + 45} deep {5 + i % 7}; hole across {at} to {at + 6} up 300 to 306")
    lines += ["bill-25 to bill-28: like bill-13", "bill-29: like bill-14; no hole; bad T 40 to 90 deep 15"]
    lines += ["bill-30: like bill-15; no clip"]
    lines += ["", "# sheet music was measured in inches", "unit in", "source sheet music", "true none", "print none"]
    for i in range(31, 41):
        lines.append(f"{i}: 13 1/2 x 10 {1 + i % 7}/8; crease T {5 + (i % 3)} 1/4 to B {4 + (i % 4)} 7/8 wide 1/8; "
                     f"best across 1 to 6 up 2 to {6 + i % 3}; inset 1/16")
    lines += [
        "41: corners (0; 0) (16 1/2; 0) (16 1/2; 9) (14; 11 3/4) (0; 11 3/4); grain up",
        "42: corners (0; 0) (15; 0) (15; 11) (7 1/2; 12) (0; 11)",
        "43: bottom 16 1/2; top 16 1/4; left 11 3/4; right 11 5/8; square BL",
        "44: bottom 16; top 16 3/8; left 11 1/2; right 11 3/4; square TR",
        "45: 16 x 11; edge R every 2: 16 15 3/4 15 1/2 15 5/8 16 15 7/8",
        "46: 16 x 11; edge T every 4: 11 10 3/4 10 1/2 10 5/8 11",
        "", "unit mm", "source ends of rolls", "grain up",
    ]  # fmt: skip
    for i in range(47, 55):
        lines.append(f'{i}: {230 + 15 * (i - 46)} x {520 - 9 * (i - 46)}; '
                     f'bad across {30 + i} to {60 + i} up {100 + i} to {180 + i}; '
                     f'count {1 + i % 3}; note "end of roll {i}; faded"')
    lines += [
        "55: squares 25", "............", "..####......", "..####..***.", "........***.", "#...........", "##..........", "",
        "56: squares 30", "#.........", "##........", "..........", "......**..", "..........", "",
        "57 to 60: like 47; no bad; bad B 20 to 70 deep 30",
    ]  # fmt: skip
    return "\n".join(lines) + "\n"
