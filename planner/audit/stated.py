"""Settings of which a file says only some: rules are held against what it says, and no more.

A rule that asks for a value which the file does not give is not answered with a default; it
is left out, and told as not checked.
"""

from __future__ import annotations

from dataclasses import fields
from typing import TYPE_CHECKING, Any, cast

from planner.settings.model import Bead, Feature, Settings

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from planner.audit.model import Finding
    from planner.audit.subject import Subject

BY_FEATURE = ("speed_mm_s", "feature_acceleration_mm_s2")
KEYS = tuple(field.name for field in fields(Settings) if field.name not in ("name", "origin"))


class NotStatedError(Exception):
    """A rule asked for a setting of which the file says nothing."""

    def __init__(self, key: str) -> None:
        self.key = key
        super().__init__(key)


class Stated:
    """Some settings, looked at like `Settings`; a key that is not there raises."""

    def __init__(self, name: str, values: Mapping[str, Any], origin: Mapping[str, str]) -> None:
        self.name = name
        self.origin = origin
        self._values = {key: value for key, value in values.items() if "." not in key}
        for stem in BY_FEATURE:
            named = {
                feature: values[f"{stem}.{feature.replace(' ', '_')}"]
                for feature in Feature
                if f"{stem}.{feature.replace(' ', '_')}" in values
            }
            if named or stem != "speed_mm_s":  # a feature's own acceleration may be left out
                self._values[stem] = named
        # The narrower of the two sections, so what is found is at least so much.
        self._values.setdefault("bead", Bead.STADIUM)

    def __getattr__(self, key: str) -> Any:
        """Return the value of a key that the file states."""
        if key.startswith("_"):
            raise AttributeError(key)
        try:
            return self._values[key]
        except KeyError:
            raise NotStatedError(key) from None

    @property
    def missing(self) -> frozenset[str]:
        """Keys of `Settings` of which nothing is said."""
        return frozenset(KEYS) - self._values.keys()


def stated(
    name: str, values: Mapping[str, Any], origin: Mapping[str, str]
) -> tuple[Settings, frozenset[str]]:
    """Return settings that say only `values`, and the keys of which they say nothing.

    Keys are those of `Settings`, one feature's as "speed_mm_s.outer_wall"; values in the
    units of the keys. `origin` maps a key to "file:line". What is returned serves the rules
    of the audit only: a rule that looks at a missing key is left out by `held`.
    """
    some = Stated(name, values, origin)
    return cast("Settings", some), some.missing


def held(
    name: str, rule: Callable[[Subject], Iterable[Finding]], subject: Subject
) -> tuple[list[Finding], tuple[str, ...]]:
    """Hold one rule against a subject: its findings, and why it was left out, if it was."""
    found: list[Finding] = []
    try:
        for finding in rule(subject):  # what was found before a key turned out missing stays
            found.append(finding)  # noqa: PERF402 (a list() would lose them all)
    except NotStatedError as missing:
        return found, (f"{name}: {missing.key} is not stated",)
    return found, ()
