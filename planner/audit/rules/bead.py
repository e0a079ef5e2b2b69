"""The strand against the nozzle it is laid with: layer heights and line width."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.audit import sources
from planner.settings.model import Level

if TYPE_CHECKING:
    from collections.abc import Iterator

    from planner.audit.model import Finding
    from planner.audit.subject import Subject

LAYER_SHARE = (0.2, 0.8)
"""Layer height over nozzle diameter, lowest and highest (see `sources.LAYER_TO_NOZZLE`)."""

LINE_SHARE = (1.0, 1.5)
"""Line width over nozzle diameter, lowest and highest (see `sources.LINE_TO_NOZZLE`)."""

SLACK = 1e-9
"""Relative room for rounding: 0.32 mm on a 0.4 mm nozzle is 0.8, not above it."""


def layer_and_nozzle(subject: Subject) -> Iterator[Finding]:
    """Yield a finding where a layer is too thick to be pressed on, or too thin to flow."""
    yield from _height(subject, "layer_mm", rule="layer and nozzle")


def first_layer(subject: Subject) -> Iterator[Finding]:
    """Hold the first layer to the same bounds, and no thinner than the others."""
    settings = subject.settings
    yield from _height(subject, "first_layer_mm", rule="first layer")
    others = min(settings.layer_mm, LAYER_SHARE[1] * settings.nozzle_mm)
    if settings.first_layer_mm < others * (1 - SLACK):
        yield subject.finding(
            rule="first layer",
            level=Level.NOTE,
            key="first_layer_mm",
            found=subject.found("first_layer_mm", settings.first_layer_mm),
            expected=f"at least as high as the other layers, {others:g} mm",
            why="a thicker first layer evens out a bed that is not quite flat",
            change=("first_layer_mm", others),
            source=sources.PRACTICE,
        )


def line_and_nozzle(subject: Subject) -> Iterator[Finding]:
    """Yield a finding where a line is narrower than the nozzle, or much wider."""
    settings = subject.settings
    low, high = (share * settings.nozzle_mm for share in LINE_SHARE)
    width = settings.line_width_mm
    if low * (1 - SLACK) <= width <= high * (1 + SLACK):
        return
    yield subject.finding(
        rule="line and nozzle",
        level=Level.WARN,
        key="line_width_mm",
        found=subject.found("line_width_mm", width),
        expected=f"{low:g} to {high:g} mm with a nozzle of {settings.nozzle_mm:g} mm",
        why="a narrower line is stretched and thin, a much wider one is not pressed flat",
        change=("line_width_mm", low if width < low else high),
        source=sources.LINE_TO_NOZZLE,
    )


def first_lines_and_nozzle(subject: Subject) -> Iterator[Finding]:
    """Hold lines of the first layer to the same bounds, where they have a width of their own."""
    settings = subject.settings
    if not subject.states("first_layer_width_mm"):
        return
    width = settings.first_layer_width_mm
    if width is None or (subject.states("line_width_mm") and width == settings.line_width_mm):
        return
    key, high = "first_layer_width_mm", LINE_SHARE[1] * settings.nozzle_mm
    low = max(settings.nozzle_mm, settings.first_layer_mm)
    if low * (1 - SLACK) <= width <= high * (1 + SLACK) or low > high:
        return
    flat = width >= settings.first_layer_mm * (1 - SLACK)
    yield subject.finding(
        rule="line and nozzle",
        level=Level.WARN if flat else Level.STOP,
        key=key,
        found=f"{subject.found(key, width)} in the first layer",
        expected=f"{low:g} to {high:g} mm with a nozzle of {settings.nozzle_mm:g} mm and a first "
        f"layer of {settings.first_layer_mm:g} mm",
        why="a narrower line holds less on the bed, a much wider one is not pressed flat",
        change=(key, low if width < low else high),
        source=sources.LINE_TO_NOZZLE,
    )


def line_and_layer(subject: Subject) -> Iterator[Finding]:
    """Stop where a strand would be taller than wide: it cannot be one flattened line."""
    settings = subject.settings
    if settings.line_width_mm >= settings.layer_mm * (1 - SLACK):
        return
    yield subject.finding(
        rule="line and nozzle",
        level=Level.STOP,
        key="line_width_mm",
        found=f"{subject.found('line_width_mm', settings.line_width_mm)}, "
        f"narrower than the layer is high ({settings.layer_mm:g} mm)",
        expected=f"at least {settings.layer_mm:g} mm",
        why="a laid strand is wider than tall: half circles of the layer's height at both ends",
        change=("line_width_mm", max(settings.nozzle_mm, settings.layer_mm)),
        source=sources.BEAD,
    )


def _height(subject: Subject, key: str, *, rule: str) -> Iterator[Finding]:
    nozzle = subject.settings.nozzle_mm
    height: float = getattr(subject.settings, key)
    low, high = (share * nozzle for share in LAYER_SHARE)
    if low * (1 - SLACK) <= height <= high * (1 + SLACK):
        return
    yield subject.finding(
        rule=rule,
        level=_height_level(height, low, nozzle),
        key=key,
        found=subject.found(key, height),
        expected=f"{low:g} to {high:g} mm with a nozzle of {nozzle:g} mm",
        why="so thin a layer is mostly the unevenness of the bed and the axis"
        if height < low
        else "so thick a layer is not pressed onto the one below and parts from it",
        change=(key, low if height < low else high),
        source=sources.LAYER_TO_NOZZLE,
    )


def _height_level(height: float, low: float, nozzle: float) -> Level:
    """Above the nozzle's own width the strand hangs in the air: stop."""
    if height < low:
        return Level.NOTE
    return Level.STOP if height > nozzle * (1 + SLACK) else Level.WARN
