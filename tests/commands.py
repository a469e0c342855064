"""The command, run within the tests' own process."""

from __future__ import annotations

# bench story B2, without its unit and name: common practice, no source
B2_FILE = """
width = "3-1/2"
height = "5-1/4"
folios = 12
trim = "1/8"
true_up = "1/16"
trims = { head = "3/32", tail = "3/32" }
"""


def run(*arguments: str) -> int:
    """Run a command; its exit code."""
    from inventory.command.main import status

    return status(arguments)
