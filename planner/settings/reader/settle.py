"""From what single entries say to one value per key: repeats, shares of others, thicknesses."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil, isclose
from typing import TYPE_CHECKING

from planner.settings.reader.convert import DIGITS
from planner.settings.reader.model import ReadSetting, Unclear

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from planner.settings.reader.lexicon import Meaning
    from planner.settings.reader.model import Entry, Value

SLACK = 0.02
"""A thickness within 2 % of a whole number of layers is that number: rounding in the file."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """What one entry says: a value of a key, or a share of another's."""

    meaning: Meaning
    entry: Entry
    value: Value
    share_of: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Settled:
    """One value per key, and what could not be settled."""

    read: Mapping[str, ReadSetting]
    ambiguous: tuple[Unclear, ...]
    suspect: tuple[Unclear, ...]


def settle(said: Sequence[Said]) -> Settled:
    """Return one value per key; keys that are said twice and differently have none."""
    read: dict[str, ReadSetting] = {}
    ambiguous: list[Unclear] = []
    suspect: list[Unclear] = []
    for key in dict.fromkeys(each.meaning.key for each in said):
        same = [each for each in said if each.meaning.key == key]
        if len({(str(each.value), each.share_of) for each in same}) > 1:
            ambiguous.extend(_contradictions(key, same))
        else:
            first = same[0]
            read[key] = ReadSetting(key=key, value=first.value, entry=first.entry)
    plain = {key: each for key, each in read.items() if not _by_key(said, key).share_of}
    shares = {key: each for key, each in read.items() if key not in plain}
    for key in _bases_first(shares, said):
        resolved = _share(_by_key(said, key), plain)
        if isinstance(resolved, Unclear):
            (suspect if resolved.why.endswith("outside") else ambiguous).append(resolved)
        else:
            plain[key] = resolved
    for key in [key for key in plain if _by_key(said, key).meaning.becomes]:
        for result in _counted(_by_key(said, key), plain.pop(key), plain):
            if isinstance(result, Unclear):
                ambiguous.append(result)
            elif plain.setdefault(result.key, result).value != result.value:
                ambiguous.append(_other(result, plain[result.key]))
    return Settled(read=plain, ambiguous=tuple(ambiguous), suspect=tuple(suspect))


def _by_key(said: Sequence[Said], key: str) -> Said:
    return next(each for each in said if each.meaning.key == key)


def _contradictions(key: str, same: Sequence[Said]) -> Iterator[Unclear]:
    """Yield every entry that says something of a key of which another says something else."""
    lines = sorted({each.entry.line for each in same})
    many = f"{', '.join(map(str, lines[:6]))}{' …' if len(lines) > 6 else ''}"
    why = (
        f"said {len(same)} times with different values (line{'s' if len(lines) > 1 else ''} {many})"
    )
    yield from (Unclear(entry=each.entry, keys=(key,), why=why) for each in same)


def _bases_first(shares: Mapping[str, ReadSetting], said: Sequence[Said]) -> list[str]:
    """Sort keys so that what others are a share of comes before them; circles do not occur."""
    return sorted(shares, key=lambda key: (_by_key(said, key).share_of in shares, key))


def _share(said: Said, read: Mapping[str, ReadSetting]) -> ReadSetting | Unclear:
    key, base = said.meaning.key, said.share_of or ""
    written = said.entry.text
    if base not in read or not isinstance(said.value, float):
        why = f"a share of {base}, which was not read" if base else "a share, and not said of what"
        return Unclear(entry=said.entry, keys=(key,), why=why)
    whole = read[base].value
    value = round(said.value * float(whole), DIGITS)
    low, high = said.meaning.range or (0.0, float("inf"))
    if not low <= value <= high:
        return Unclear(
            entry=said.entry, keys=(key,), why=f"{written} of {base} is {value:g}, outside"
        )
    note = f"{said.value * 100:g} % of {base}"
    return ReadSetting(key=key, value=value, entry=said.entry, note=note)


def _counted(
    said: Said, given: ReadSetting, read: Mapping[str, ReadSetting]
) -> Iterator[ReadSetting | Unclear]:
    """Yield the counts that a thickness, or a count of both skins, comes to."""
    for key in said.meaning.becomes:
        if said.meaning.quantity == "count":
            yield replace(given, key=key)
            continue
        if said.meaning.quantity == "angle":
            note = "90° less the angle from the horizontal"
            yield replace(given, key=key, value=round(90 - float(given.value), DIGITS), note=note)
            continue
        step_key = "line_width_mm" if key == "walls" else "layer_mm"
        if step_key not in read:
            why = f"a thickness, and {step_key} was not read"
            yield Unclear(entry=said.entry, keys=(key,), why=why)
            continue
        yield _count(said, key, float(read[step_key].value), _first_mm(key, read))


def _other(result: ReadSetting, read: ReadSetting) -> Unclear:
    """Return what is to be said of a value that the key itself contradicts."""
    why = f"comes to {result.value} {result.key}, but line {read.entry.line} says {read.value}"
    return Unclear(entry=result.entry, keys=(result.key,), why=why)


def _first_mm(key: str, read: Mapping[str, ReadSetting]) -> float | None:
    first = read.get("first_layer_mm")
    return float(first.value) if first is not None and key == "bottom_layers" else None


def _count(said: Said, key: str, step_mm: float, first_mm: float | None) -> ReadSetting | Unclear:
    """Return how many layers or lines a thickness is, where it is a whole number of them."""
    thick_mm = float(said.value)
    exact = thick_mm / step_mm
    if first_mm is not None and thick_mm > first_mm:
        other = 1 + (thick_mm - first_mm) / step_mm
        exact = other if _whole(other) else exact
    if _whole(exact):
        note = f"{thick_mm:g} mm / {step_mm:g} mm"
        return ReadSetting(key=key, value=round(exact), entry=said.entry, note=note)
    why = f"{thick_mm:g} mm is {exact:.2f} times {step_mm:g} mm: {int(exact)} or {ceil(exact)}"
    return Unclear(entry=said.entry, keys=(key,), why=why)


def _whole(number: float) -> bool:
    return isclose(number, round(number), rel_tol=SLACK, abs_tol=SLACK)
