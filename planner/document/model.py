"""A file as plain data, with the line of every place in it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from planner.errors import printable

if TYPE_CHECKING:
    from collections.abc import Mapping


@dataclass(frozen=True, slots=True, kw_only=True)
class Document:
    """A file as plain data; `file` is its name as the user gave it, made printable.

    `data` holds dicts with text keys, lists, str, int, float (finite), bool and None.
    `lines` maps a place ("parts.hook.up", "printers[1].profile") to its line, from 1.
    """

    file: str
    data: dict[str, Any]
    lines: Mapping[str, int]

    def line(self, place: str) -> int | None:
        """Line of `place`, or of the nearest place that holds it."""
        while place and place not in self.lines:
            place = place[: max(place.rfind("."), place.rfind("["), 0)]
        return self.lines.get(place)

    def where(self, place: str) -> str:
        """Return "file:line" of `place`, for messages that come later."""
        line = self.line(place)
        return self.file if line is None else f"{self.file}:{line}"


def place_of(keys: tuple[str | int, ...]) -> str:
    """Return the path of keys as it is written in messages.

    >>> place_of(("printers", 1, "profile"))
    'printers[1].profile'
    """
    parts = (f"[{key}]" if isinstance(key, int) else f".{printable(key)}" for key in keys)
    return "".join(parts).removeprefix(".")
