"""Filling plates: irregular shapes on beds with keep-outs, with a lower bound.

Geometry (`shape`, `nofit`, `table`, `plate`) answers "may this lie here?"; the search
(`fill`, `search`) is a client of it; `verify` checks the result apart from both.
"""
