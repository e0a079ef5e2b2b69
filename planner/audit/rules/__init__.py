"""One small file per subject; each rule is a function that yields findings, or none.

Rules about settings take a `Subject`; rules about a shape take the part and what was
measured of it. `RULES` in `planner.audit.settings` and the list in `planner.audit.part`
say which are held against what.
"""
