"""What a profile says against what its toolpath really prints.

Laid volume is held against laid volume, walls against what fits: a bound that a thin section
sets contradicts nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner.audit import sources
from planner.audit.measure.model import Status
from planner.audit.model import Finding
from planner.audit.order import in_order
from planner.audit.words import with_unit
from planner.settings.model import Level

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from planner.audit.measure.model import Figure, Measured

    Value = float | str | bool

INFILL_ROOM = 0.08
"""Joined and overlapping lines lay 3 to 8 points more than asked for in small parts (measured)."""
WIDTH_ROOM = 0.02
VOLUME_ROOM = 0.15
"""Skins of other kinds, overlaps and supports differ by up to a tenth: our choice."""
HEAVY = ("walls", "top_layers", "bottom_layers", "infill")
"""What carries the load: less of it than the profile says is a stop."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Compared:
    """How far a measured value may lie from the profile's before they disagree."""

    key: str
    room: float = 0.0


_KEYS = (
    _Compared(key="walls"),
    _Compared(key="top_layers"),
    _Compared(key="bottom_layers"),
    _Compared(key="infill", room=INFILL_ROOM),
    _Compared(key="layer_mm", room=0.004),  # files in inches are written to 0.0025 mm
    _Compared(key="first_layer_mm", room=0.004),
    _Compared(key="line_width_mm"),
    _Compared(key="nozzle_c", room=1.0),
    _Compared(key="bed_c", room=1.0),
    _Compared(key="fan", room=0.02),  # steps of 1/255, and percent rounded
    _Compared(key="brim_mm", room=0.6),  # whole loops
)


def printed_otherwise(
    said: Mapping[str, Value],
    measured: Measured,
    *,
    profile: str,
    toolpath: str,
    origin: Mapping[str, str] | None = None,
) -> tuple[Finding, ...]:
    """Return what a toolpath prints other than its profile says, sorted.

    `said` has the keys of `Settings` and may hold only some; `origin` maps them to
    "file:line". Only firm figures, and bounds beyond what is said, can contradict.
    """
    where = origin or {}
    found = [
        _finding(part, key, said[key], figure, (where.get(key) or profile, toolpath))
        for compared in _KEYS
        for key in [compared.key]
        if key in said and not isinstance(said[key], str)
        for part, figure in _figures(measured, key)
        if _differs(compared, said, figure, measured)
    ]
    found += _volume(measured, toolpath)
    found += _support(said, measured, where.get("support") or profile, toolpath)
    found += _flow(said, measured, where.get("flow_max_mm3_s") or profile, toolpath)
    return in_order(found)


def _figures(measured: Measured, key: str) -> Iterator[tuple[str, Figure]]:
    """Yield the figures of each part for what parts have of their own, else the plate's."""
    if key in HEAVY:
        yield from ((part.name, part.figures[key]) for part in measured.parts)
    elif key in measured.figures:
        yield "", measured.figures[key]


def _differs(
    compared: _Compared, said: Mapping[str, Value], figure: Figure, measured: Measured
) -> bool:
    value, wanted = figure.value, float(said[compared.key])
    if value is None or isinstance(value, str):
        return False
    off = float(value) - wanted
    if compared.key == "line_width_mm":
        return _width_differs(wanted, figure)
    if figure.status is Status.AT_LEAST:
        return off > compared.room
    alternate = compared.key == "walls" and wanted in (figure.spread or ())
    as_fed = compared.key == "first_layer_mm" and _fed(measured, wanted)
    return figure.status is Status.FIRM and abs(off) > compared.room and not alternate | as_fed


def _width_differs(wanted: float, figure: Figure) -> bool:
    """Tell whether a width fits neither section of a line, or not the one that is known."""
    value = float(figure.value or 0.0)
    low, high = figure.spread or (value, value)
    if figure.status is Status.FIRM:
        low = high = value
    return not low * (1 - WIDTH_ROOM) <= wanted <= high * (1 + WIDTH_ROOM)


def _fed(measured: Measured, wanted: float) -> bool:
    """Tell whether the first layer is fed as high as wanted, whatever an offset makes of z."""
    fed = measured.figures.get("first_layer_fed_mm")
    if fed is None or not isinstance(fed.value, float):
        return False
    return abs(fed.value - wanted) <= 0.03 * wanted


def _finding(
    part: str, key: str, wanted: Value, figure: Figure, places: tuple[str, str]
) -> Finding:
    value = figure.value
    assert value is not None
    less = key in HEAVY and float(value) < float(wanted)
    return Finding(
        rule=f"printed {key.removesuffix('_mm').removesuffix('_c').replace('_', ' ')}",
        level=Level.STOP if less else Level.WARN,
        part=part,
        where=places[1],
        found=f"{_shown(key, value)} measured ({figure.evidence})",
        expected=f"{_shown(key, wanted)}, as {places[0]} says",
        why="the toolpath is what prints: it was made with other settings than these",
        remedy="export the toolpath again with this profile, or correct the profile",
        source=sources.TOOLPATH,
    )


def _shown(key: str, value: Value) -> str:
    if isinstance(value, float):
        value = round(value, 2 if key == "infill" else 3)
    return with_unit(key, value)


def _volume(measured: Measured, toolpath: str) -> Iterator[Finding]:
    """Warn where a part takes far more or less than its mesh laid the same way."""
    for part in measured.parts:
        laid, expected = part.figures.get("laid_mm3"), part.figures.get("expected_mm3")
        if laid is None or expected is None or not expected.value:
            continue
        off = float(laid.value or 0.0) / float(expected.value) - 1.0
        if abs(off) <= VOLUME_ROOM:
            continue
        yield Finding(
            rule="printed volume",
            level=Level.WARN,
            part=part.name,
            where=toolpath,
            found=f"{laid.value:.0f} mm³ laid",
            expected=f"some {expected.value:.0f} mm³: the mesh laid with what was measured",
            why="something was left out, or is laid that is no part of the mesh",
            remedy="look at the layers of the toolpath, and at the mesh",
            source=f"{sources.TOOLPATH}; {sources.MESH}",
        )


def _support(
    said: Mapping[str, Value], measured: Measured, profile: str, toolpath: str
) -> Iterator[Finding]:
    figure = measured.figures.get("support")
    wanted = said.get("support")
    if not isinstance(wanted, bool) or figure is None or not isinstance(figure.value, bool):
        return
    if figure.value == wanted:
        return
    yield Finding(
        rule="printed support",
        level=Level.WARN if figure.value else Level.NOTE,
        part="",
        where=toolpath,
        found=f"{'' if figure.value else 'no '}support measured ({figure.evidence})",
        expected=f"support {'on' if wanted else 'off'}, as {profile} says",
        why="support costs filament and leaves marks"
        if figure.value
        else "nothing may have needed it, or it was left out",
        remedy="export the toolpath again with this profile, or correct the profile",
        source=sources.TOOLPATH,
    )


def _flow(
    said: Mapping[str, Value], measured: Measured, profile: str, toolpath: str
) -> Iterator[Finding]:
    figure, most = measured.figures.get("flow_peak_mm3_s"), said.get("flow_max_mm3_s")
    if figure is None or not isinstance(figure.value, float) or not isinstance(most, int | float):
        return
    if figure.value <= most * 1.02:
        return
    yield Finding(
        rule="printed flow",
        level=Level.WARN,
        part="",
        where=toolpath,
        found=f"{figure.value:.1f} mm³/s asked for ({figure.evidence})",
        expected=f"at most {most:g} mm³/s, as {profile} says",
        why="plastic that does not melt in time leaves gaps, or the drive slips",
        remedy="export the toolpath again with lower speeds, or a higher limit if it holds",
        source=sources.TOOLPATH,
    )
