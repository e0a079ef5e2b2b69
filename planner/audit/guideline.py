"""What a guideline asks, rule by rule, and whether a part's settings give it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from math import ceil, floor, inf, isclose
from typing import TYPE_CHECKING

from planner.audit import sources
from planner.audit.words import entry_name, listed, with_unit
from planner.errors import input_error
from planner.settings.model import Feature, Level, Settings

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from planner.audit.model import Finding
    from planner.audit.subject import Subject
    from planner.errors import InputError
    from planner.settings.model import Filament, Guideline, Rule

Value = float | int | str | bool

_KEYS = tuple(field.name for field in fields(Settings) if field.name not in ("name", "origin"))


def applying(guideline: Guideline, *, part: str, tags: Sequence[str]) -> tuple[Rule, ...]:
    """Return one rule per key, sorted by key: the closest one that concerns the part.

    A rule that names the part is closer than one that names a tag of it, and that closer
    than the general one; of equally close rules the first in the guideline holds.
    """
    closest: dict[str, tuple[int, Rule]] = {}
    for rule in guideline.rules:
        closeness = _closeness(rule, part, tags)
        if closeness is not None and closeness > closest.get(rule.key, (-1, rule))[0]:
            closest[rule.key] = (closeness, rule)
    return tuple(closest[key][1] for key in sorted(closest))


def broken(rule: Rule, subject: Subject, guideline: Guideline) -> Iterator[Finding]:
    """Yield a finding for each value that breaks the rule (speeds: one per feature).

    Raises InputError where the rule names no setting, bounds one that is no number, or asks
    for the usual value of a material in something that filament profiles do not hold.
    """
    if rule.usual_of_material and subject.filament is None:
        yield _unchecked(rule, subject, guideline)
        return
    low, high = _interval(rule, subject.filament, guideline)
    for key, value in _values(subject.settings, rule.key, guideline):
        if rule.one_of:
            if any(_equal(value, wanted) for wanted in rule.one_of):
                continue
            better = _nearest(value, rule.one_of)
        elif isinstance(value, bool | str):
            raise _no_interval(rule, guideline)
        elif _inside(value, low, high):
            continue
        else:
            better = _bound(value, low, high)
        yield _finding(rule, subject, guideline, key=key, value=value, better=better)


def _closeness(rule: Rule, part: str, tags: Sequence[str]) -> int | None:
    if part and part in rule.parts:
        return 2
    if set(tags) & set(rule.tags):
        return 1
    return None if rule.parts or rule.tags else 0


def _values(settings: Settings, key: str, guideline: Guideline) -> tuple[tuple[str, Value], ...]:
    """Return (key, value) pairs; `speed_mm_s` gives one per feature, travel left out.

    A feature without an acceleration of its own has that of all.
    """
    stem, _, feature = entry_name(key).partition(".")
    if stem not in _KEYS:
        raise input_error(
            guideline.name,
            place=key,
            found=f"a rule for '{key}'",
            expected="a rule for a setting: " + ", ".join(_KEYS),
            remedy="correct the key in the guideline",
        )
    value = getattr(settings, stem)
    if stem == "first_layer_width_mm" and value is None:
        value = settings.line_width_mm  # left out, it is that of all other lines
    if not isinstance(value, Mapping):
        return ((stem, value),)
    if stem == "feature_acceleration_mm_s2" and feature:
        own = {entry_name(f): gain for f, gain in value.items()}
        if feature not in own:
            own[feature] = settings.acceleration_mm_s2
        return ((f"{stem}.{feature}", own[feature]),)
    wanted = [f for f in value if feature in ("", entry_name(f))]
    return tuple(
        (f"{stem}.{entry_name(f)}", value[f])
        for f in sorted(wanted, key=list(Feature).index)
        if f is not Feature.TRAVEL or feature
    )


def _interval(rule: Rule, filament: Filament | None, guideline: Guideline) -> tuple[float, float]:
    if not rule.usual_of_material or filament is None:
        low = -inf if rule.at_least is None else rule.at_least
        return low, inf if rule.at_most is None else rule.at_most
    usual = getattr(filament, rule.key, None)
    if not isinstance(usual, tuple):
        raise input_error(
            guideline.name,
            place=rule.key,
            found=f"a rule that asks for the material's usual '{rule.key}'",
            expected="infill, nozzle_c or bed_c, which filament profiles hold",
            remedy="give at_least, at_most or one_of instead",
        )
    return usual


def _no_interval(rule: Rule, guideline: Guideline) -> InputError:
    return input_error(
        guideline.name,
        place=rule.key,
        found=f"a lowest or highest '{rule.key}'",
        expected=f"one_of, since {rule.key} is no number",
        remedy="list the values allowed under one_of",
    )


def _equal(value: Value, wanted: Value) -> bool:
    """Compare like with like: true is not 1, PLA is pla; six digits are what is shown."""
    if isinstance(value, bool) or isinstance(wanted, bool):
        return value is wanted
    if isinstance(value, str) or isinstance(wanted, str):
        return str(value).casefold() == str(wanted).casefold()
    return isclose(value, wanted, rel_tol=1e-6, abs_tol=1e-12)


def _inside(value: float, low: float, high: float) -> bool:
    return low <= value <= high or _equal(value, low) or _equal(value, high)


def _nearest(value: Value, one_of: tuple[Value, ...]) -> Value:
    """Return the wanted value that asks for the least change; the first one of words."""
    if isinstance(value, bool | str) or any(isinstance(wanted, bool | str) for wanted in one_of):
        return one_of[0]
    return min(one_of, key=lambda wanted: abs(float(wanted) - value))


def _bound(value: float, low: float, high: float) -> float:
    whole = isinstance(value, int)
    if value < low:
        return ceil(low) if whole else low
    return floor(high) if whole else high


def _asked(rule: Rule, key: str, low: float, high: float) -> str:
    if rule.one_of:
        return listed(tuple(with_unit(key, wanted) for wanted in rule.one_of), "or")
    if low == -inf:
        return f"at most {with_unit(key, high)}"
    if high == inf:
        return f"at least {with_unit(key, low)}"
    return f"{with_unit(key, low)} to {with_unit(key, high)}"


def _by_whom(rule: Rule, subject: Subject, guideline: Guideline) -> str:
    """Return who asks: "guideline everyday", "... for tag bin", "... usual for pla"."""
    text = f"guideline {guideline.name}"
    if subject.part in rule.parts:
        text += f", for {subject.part}"
    elif rule.tags:
        text += f", for tag {listed(tuple(sorted(rule.tags)), 'or')}"
    if rule.usual_of_material and subject.filament is not None:
        text += f", usual for {subject.filament.material}"
    return text


def _finding(
    rule: Rule,
    subject: Subject,
    guideline: Guideline,
    *,
    key: str,
    value: Value,
    better: Value,
) -> Finding:
    low, high = _interval(rule, subject.filament, guideline)
    return subject.finding(
        rule=entry_name(rule.key),
        level=rule.level,
        key=key,
        found=_named(key) + subject.found(key, value),
        expected=f"{_asked(rule, key, low, high)} ({_by_whom(rule, subject, guideline)})",
        why=rule.why or f"guideline {guideline.name} asks for it and gives no reason",
        change=(key, better),
        source=rule.source or f"guideline {guideline.name}, which gives no source",
    )


def _named(key: str) -> str:
    feature = key.partition(".")[2].replace("_", " ")
    return f"{feature} " if feature else ""


def _unchecked(rule: Rule, subject: Subject, guideline: Guideline) -> Finding:
    material = subject.settings.material
    return subject.finding(
        rule=entry_name(rule.key),
        level=Level.NOTE,
        key=rule.key,
        found=f"no filament profile for {material}, so {rule.key} was not checked",
        expected=f"the usual value of the material (guideline {guideline.name})",
        why=rule.why or f"guideline {guideline.name} asks for it and gives no reason",
        remedy=f"name a material that has a filament profile, or add one for {material}",
        source=rule.source or sources.FILAMENT,
    )
