"""Settings written as records: a name, a value and perhaps a unit, side by side."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from planner.settings.reader.words import fold

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """What a record says; `value_key` is what its value is called."""

    name: str
    value: Any
    unit: str
    value_key: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """How the fields of a record may be called (folded words)."""

    names: frozenset[str]
    values: frozenset[str]
    units: frozenset[str]

    def of_mapping(self, fields: Mapping[str, Any]) -> Named | None:
        """Return the record that a mapping is, or None.

        It is one if it has one name that is text, and one value that is no mapping.
        """
        name, value = self.find(fields, self.names), self.find(fields, self.values)
        if name is None or value is None or name == value:
            return None
        if not isinstance(fields[name], str) or isinstance(fields[value], dict):
            return None
        unit = self.find(fields, self.units)
        says = fields[unit] if unit is not None else ""
        text = says if isinstance(says, str) else ""
        return Named(name=fields[name], value=fields[value], unit=text, value_key=value)

    def find(self, fields: Iterable[str], called: frozenset[str]) -> str | None:
        """Return the one field that is called so, or None where none or several are."""
        found = [field for field in fields if fold(field) in called]
        return found[0] if len(found) == 1 else None
