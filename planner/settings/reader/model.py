"""What a settings file of any dialect says: entries as written, and what they were taken for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner.document.wording import LISTED_MAX, clipped

if TYPE_CHECKING:
    from collections.abc import Mapping

Value = float | int | bool | str
PLACE_MAX = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One key of the file and its value, as written.

    `path` names what holds the key, outermost first; `values` has one text per tool or row,
    a single one for most keys; `unit` is what the file gives apart from the value; `line`
    counts from 1.
    """

    path: tuple[str, ...]
    key: str
    values: tuple[str, ...]
    unit: str = ""
    line: int

    @property
    def place(self) -> str:
        """Path and key as one text, cut where it is endless."""
        return clipped(" > ".join((*self.path, self.key)), most=PLACE_MAX)

    @property
    def text(self) -> str:
        """The value as one text, cut where it is endless."""
        joined = "; ".join(self.values[:LISTED_MAX])
        return clipped(f"{joined} {self.unit}".rstrip())


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadSetting:
    """A neutral key with its value, and the entry that said so.

    `note` is "" or how the value was arrived at ("112 % of nozzle_mm").
    """

    key: str
    value: Value
    entry: Entry
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Unclear:
    """An entry that may mean something of ours and is not read: which keys, and why not."""

    entry: Entry
    keys: tuple[str, ...]
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """Everything in one file; each entry stands in one group, or repeats one that does.

    `ambiguous` may mean several things; `suspect` means one whose value cannot be;
    `suggested` holds a word that the lexicon does not know; `not_understood` is the rest:
    foreign to us, or nothing that `Settings` has a key for. `form` and `encoding` say how
    the file was taken.
    """

    file: str
    form: str
    encoding: str
    read: Mapping[str, ReadSetting]
    ambiguous: tuple[Unclear, ...]
    suspect: tuple[Unclear, ...]
    suggested: tuple[Unclear, ...]
    not_understood: tuple[Entry, ...]
