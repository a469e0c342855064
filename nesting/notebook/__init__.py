"""The notebook's arithmetic, one question a module.

- `sizes`: which size is meant by a name;  `paper`: how heavy and how thick;  `folding`: leaves, thickness, creep, wrap.
- `measures`: any two of grammage, caliper and bulk;  `labels`: size and grain as a label has them;  `scoring`: must it be scored.
- `formats` of `parts`: what a maker decides about a book;  `allowances`: which blanks that takes, line by line.
- `limits`: how bulky a book may get;  `stapling`: where and which staples;  `corners`: what rounding takes off.
- `weighing`: how many folios are in a heap;  `trimming`: the bound books under the knife.
- `largest`: the finished size that uses a sheet up.
- `reams`: how many books a ream of each paper gives.
- `ruled`: folios whose lines meet;  `ruled_plan`: a plan of these.

A new allowance is a line in `allowances.reckon`; a new named size is a row in `sizes`, with its source.
"""
