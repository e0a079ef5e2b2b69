"""Collecting what is wrong with a job, so that all of it can be said at once."""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from planner.document.check import in_order
from planner.errors import InputError, Problem
from planner.settings.library import citation

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from planner.document import Document
    from planner.settings.library import Cited

SUGGESTED_MAX = 20


@dataclass(frozen=True, slots=True)
class Faults:
    """A growing list of problems with one document."""

    document: Document
    found: list[Problem] = field(default_factory=list)

    def add(self, place: str, *, found: str, expected: str, remedy: str) -> None:
        """Note one problem at a place of the document."""
        self.found.append(
            Problem(
                file=self.document.file,
                line=self.document.line(place),
                place=place,
                found=found,
                expected=expected,
                remedy=remedy,
            )
        )

    @property
    def few(self) -> bool:
        """Whether it is still worth the time to look for the nearest name, fault by fault."""
        return len(self.found) < SUGGESTED_MAX

    def cited(self, place: str, folder: Path) -> Cited:
        """Return the citation of a profile that is named at a place of the document."""
        return replace(citation(self.document, place, folder), suggest=self.few)

    @contextmanager
    def noting(self) -> Iterator[None]:
        """Note the problems of an InputError and go on after the block."""
        try:
            yield
        except InputError as error:
            self.found.extend(error.problems)

    def raise_if_any(self) -> None:
        """Raise everything that was noted, in the order of the file."""
        if self.found:
            raise InputError(*in_order(self.found))
