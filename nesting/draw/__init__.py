"""Drawings as values: matplotlib figures in the paper's true size. Nothing here writes a file.

Reading order: `ink` (a page in mm), `furniture` and `flow` (what stands on every page), `picture` (a sheet to scale),
`spots` (where lettering fits), `blocks`, `naming`, `markers`, `bearings`, `chosen`, `keys` (what is written on a drawing),
`cut_table`, `arranging` and `layout_page` (one layout), `limits` and `summary` (the first page), `diagrams` (all pages of a
plan), `contact`.
matplotlib and shapely are loaded only when something is drawn.
"""
