"""Filling plates: irregular shapes on beds with keep-outs, with a lower bound.

Geometry (`shape`, `nofit`, `table`, `plate`) answers "may this lie here?"; the search
(`fill`, `search`) is a client of it; `verify` checks the result apart from both.  What a person
asks for besides few plates (`scene`: pins, groups; `terms`; `sequence`: one part after the
other) reaches the search only through what a plate allows; `placing` comes after it.
"""
