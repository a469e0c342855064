"""Describing sheets by hand, in text: one line a sheet (design.md section 3).

`words` cuts a line into parts and reads lengths; `forms` and `facts` are what a part can say, `parts` the grammar.
`bases` (with `squares` and `foursided`) makes the paper before damage, `shapes` (with `damage` and `areas`, exact by
`exactly`) the sheet: what is gone (`clip`, `edge`) changes its outline; what is bad (`torn`, `bad`, `crease`) is an area
on it. `entries` resolves `like`, `lines` keeps ids and header lines, `files` and `prompt` are the two ways in. A new form
is a value in `forms`, its reader in `parts`, and a case in `shapes` or `areas`.
"""

from .files import parse_text, read_file
from .prompt import Message, Reader
from .results import Reading, RowFault

__all__ = ["Message", "Reader", "Reading", "RowFault", "parse_text", "read_file"]
