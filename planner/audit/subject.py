"""What a rule about settings looks at, and how it writes down what it found."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import TYPE_CHECKING

from planner.audit.model import Change, Finding
from planner.audit.words import as_yaml, with_unit

if TYPE_CHECKING:
    from collections.abc import Mapping

    from planner.settings.model import Filament, Level, Settings

Value = float | str | bool

_WITH_LINE = re.compile(r"(?P<file>.+):(?P<line>\d+)")


@dataclass(frozen=True, slots=True, kw_only=True)
class Subject:
    """Settings under audit, and how to speak of them.

    Keys are those of `Settings`; the speed of one feature is "speed_mm_s.outer_wall".
    `part` may be "" (a file alone); `where` is where the settings are chosen. `filament` is
    None where the material has no profile at hand: rules that need it say so, or do not
    apply. `names` maps a key to how the user's own file spells it, where that differs;
    `missing` are keys of which a file that says only some settings says nothing.
    """

    settings: Settings
    filament: Filament | None
    part: str = ""
    where: str = ""
    names: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    missing: frozenset[str] = frozenset()

    def states(self, key: str) -> bool:
        """Tell whether the settings say anything of a key; whole settings say all."""
        return key not in self.missing

    def origin(self, key: str) -> str:
        """Return where the value of `key` was written, or "" where nobody kept it."""
        origin = self.settings.origin
        return origin.get(key) or origin.get(key.partition(".")[0], "")

    def where_of(self, key: str) -> str:
        """Return the line in the user's own file, where the value is written there."""
        origin = self.origin(key)
        return origin if not self.where or _same_file(origin, self.where) else self.where

    def found(self, key: str, value: object) -> str:
        """Return the value with its unit and, if it comes from elsewhere, from where."""
        origin = self.origin(key)
        from_elsewhere = origin not in ("", self.where_of(key))
        return with_unit(key, value) + (f" (from {origin})" if from_elsewhere else "")

    def to_set(self, key: str, value: object) -> str:
        """Return the remedy that writes `value` where it takes effect for this part."""
        written, _, feature = key.partition(".")
        entry = f"{written}: {as_yaml(value)}"
        if feature:
            entry = f"{written}: {{{feature}: {as_yaml(value)}}}"
        place = self.where_of(key)
        if self.part and not _same_file(self.origin(key), self.where):
            return f"set {entry} under the settings of {self.part} ({place})"
        spelt = f" (there: {self.names[key]})" if key in self.names else ""
        return f"set {entry} in {place or self.settings.name}{spelt}"

    def finding(
        self,
        *,
        rule: str,
        level: Level,
        key: str = "",
        found: str,
        expected: str,
        why: str,
        source: str,
        remedy: str = "",
        change: tuple[str, Value] | None = None,
    ) -> Finding:
        """Return a finding about the setting `key` of this part, or about the part itself.

        `change` is the (key, value) that ends it; the remedy is then to set just that, unless
        it is given in other words.
        """
        return Finding(
            rule=rule,
            level=level,
            part=self.part,
            where=self.where_of(key),
            found=found,
            expected=expected,
            why=why,
            remedy=remedy or ("" if change is None else self.to_set(*change)),
            source=source,
            change=None if change is None else Change(key=change[0], value=_rounded(change[1])),
        )


def _rounded(value: Value) -> Value:
    """Leave six digits, as they are shown."""
    return float(f"{value:.6g}") if isinstance(value, float) else value


def line_of(origin: str) -> int | None:
    """Return the line of a "file:line", or None where it has none.

    >>> line_of("job.yaml:41"), line_of("sturdy_020")
    (41, None)
    """
    match = _WITH_LINE.fullmatch(origin)
    return int(match["line"]) if match else None


def _same_file(origin: str, where: str) -> bool:
    """Tell whether both name the same file, whatever the lines; a bare name is no file."""
    match = _WITH_LINE.fullmatch(origin)
    if match is None:
        return False
    other = _WITH_LINE.fullmatch(where)
    return match["file"] == (other["file"] if other else where)
