"""The notebook's arithmetic, one question a module.

- `sizes`: which size is meant by a name;  `paper`: how heavy and how thick;  `folding`: leaves, thickness, creep, wrap.
- `formats`: what a maker decides about a book;  `allowances`: which blanks that takes, line by line.
- `reams`: how many books a ream of each paper gives.

A new allowance is a line in `allowances.reckon`; a new named size is a row in `sizes`, with its source.
"""
