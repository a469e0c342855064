"""How a plan is judged: nothing here is shared with the search, nor with `nesting.geometry`.

- `faults`: what a fault is.  `exact`: predicates on whole numbers.  `paper`: a sheet in the axes it is cut in, and what
  of it lies in a box.
- `trees`: the cuts.  `placing`: the pieces.  `rules`: how they may lie, and what it costs where they should not.
- `offcuts`: what goes back, and the areas.  `counting`: names, stock, numbers.  `sets`, `bounds`: what a plan achieves,
  and its limit.

A new rule is a function in the module of its question that yields faults; `nesting.checker` calls each once.
"""
