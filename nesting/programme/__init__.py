"""The cutter's programme: the cuts of a layout in order, with fence settings.

`steps` is the call; `paper` says where the paper is, `bases` which edge is measured from, `stacking` counts pulls.
"""
