"""Settings files of any dialect, read by the words of the trade; no program is known here.

A file of any usual form is flattened into entries (path, key, value, unit, line); the words
of each entry are looked up in a lexicon and held against what each key of ours needs,
helps, and tolerates. What is not certain is reported, never guessed.
"""

from __future__ import annotations

from planner.settings.reader.lexicon import Lexicon, load_lexicon, shipped_lexicon
from planner.settings.reader.model import Entry, Reading, ReadSetting, Unclear
from planner.settings.reader.read import read_foreign
from planner.settings.reader.source import is_toolpath

__all__ = [
    "Entry",
    "Lexicon",
    "ReadSetting",
    "Reading",
    "Unclear",
    "is_toolpath",
    "load_lexicon",
    "read_foreign",
    "shipped_lexicon",
]
