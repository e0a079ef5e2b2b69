"""Strip packing: all copies in a strip of fixed depth, as short as can be found.

`kit` readies the shapes, `search` shrinks the strip step by step with the separation of
`planner.nest.separate`, `compact` takes back what the grid cost, `check` measures the result
apart from all of them.
"""
