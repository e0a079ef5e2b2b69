"""How a long stage says how far it is, without knowing who listens.

A stage calls `progress(stage, done, total)`; the command line turns that into a bar.
"""

from __future__ import annotations

from typing import Protocol


class Progress(Protocol):
    """A listener: `stage` in the user's words, `done` of `total` steps behind us."""

    def __call__(self, stage: str, done: int, total: int, /, note: str = "") -> None:
        """Take notice; `note` is a short remark such as '13 plates, bound 11'."""


def silent(_stage: str, _done: int, _total: int, /, note: str = "") -> None:
    """Listen to nothing: the default of every stage."""
