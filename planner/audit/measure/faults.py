"""Faults of a toolpath as findings, each with the line where it begins."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from planner.audit import sources
from planner.audit.measure.watch import COLD_C, FARTHEST_MM
from planner.audit.model import Finding
from planner.audit.order import in_order
from planner.settings.model import Level

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from planner.audit.measure.harvest import Harvest
    from planner.audit.measure.levels import Levels
    from planner.audit.measure.spacing import Bead

JUMP_LAYERS = 2.6
"""A rise by so many usual layers, and 0.5 mm, leaves air between: our choice."""
FLOW_LEAST, FLOW_MOST = 0.7, 1.4
"""Flow factors outside this are no trim of a printer but a mistake in the unit: our choice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Said:
    """How one kind of fault is told."""

    rule: str
    level: Level
    found: str
    expected: str
    why: str
    remedy: str
    source: str = sources.TOOLPATH


_KINDS = {
    "cold": _Said(
        rule="cold extrusion",
        level=Level.STOP,
        found="plastic is laid with the nozzle set to {value:g} °C",
        expected=f"at least {COLD_C:g} °C",
        why="filament that does not melt is ground by the drive, or jams the nozzle",
        remedy="set the nozzle's temperature before this line (M109 S…), or remove what turns it "
        "off",
        source=sources.PRACTICE,
    ),
    "never heated": _Said(
        rule="cold extrusion",
        level=Level.STOP,
        found="plastic is laid before any nozzle temperature is set",
        expected="M104 or M109 with a temperature earlier in the file",
        why="the nozzle stays as cold as it was, and filament that does not melt jams it",
        remedy="set the nozzle's temperature at the start of the file",
    ),
    "not waited": _Said(
        rule="no wait for heat",
        level=Level.WARN,
        found="plastic is laid before the file waits for the nozzle",
        expected="M109, or M104 and M116, before the first line of plastic",
        why="the first lines would be laid while the nozzle is still warming up",
        remedy="wait for the nozzle with M109 at the start of the file",
    ),
    "under z 0": _Said(
        rule="under the bed",
        level=Level.STOP,
        found="a move to z {value:.3f} mm",
        expected="z of 0 or more",
        why="the nozzle would be driven into the bed",
        remedy="correct the height, or the offset (G92 Z) before it",
    ),
    "jump": _Said(
        rule="absurd jump",
        level=Level.STOP,
        found="a move to a place {value:.0f} mm from the origin",
        expected=f"places within {FARTHEST_MM:g} mm",
        why="no desktop printer reaches it: a number, a unit or a mode (G20, G91) is wrong",
        remedy="check the numbers and the modes around this line, or export the file again",
    ),
    "lump": _Said(
        rule="absurd jump",
        level=Level.STOP,
        found="{value:.0f} mm of strand pushed out in one short move",
        expected="strand in keeping with the length of the move",
        why="E jumps: a G92 E0 is missing, or absolute and relative E (M82, M83) are mixed up",
        remedy="check M82, M83 and G92 E before this line, or export the file again",
    ),
    "laid outside": _Said(
        rule="outside the bed",
        level=Level.STOP,
        found="plastic is laid {value:.2f} mm beyond the edge of the bed",
        expected="plastic on the bed",
        why="the head runs into its end stop and everything after it is out of place",
        remedy="move the parts on the plate, or choose the printer they were meant for",
        source=sources.PRINTER,
    ),
    "goes outside": _Said(
        rule="outside the bed",
        level=Level.WARN,
        found="the head goes {value:.2f} mm beyond the edge of the bed without laying plastic",
        expected="ways over the bed, unless the machine has room beside it",
        why="a machine without that room runs into its end stop",
        remedy="check that the printer can go there",
        source=sources.PRINTER,
    ),
    "too high": _Said(
        rule="outside the bed",
        level=Level.STOP,
        found="a move to z {value:.1f} mm",
        expected="heights that the printer reaches",
        why="the head runs into the top of the machine",
        remedy="choose a taller printer, or lay the part down",
        source=sources.PRINTER,
    ),
    "keep-out": _Said(
        rule="keep-out",
        level=Level.STOP,
        found="plastic is laid on a place that the printer keeps free",
        expected="plastic outside its keep-outs",
        why="clips or a purge strip are in the way of the head",
        remedy="move the parts on the plate",
        source=sources.PRINTER,
    ),
}


def faults_of(
    path: Path,
    found: Harvest,
    levels: Levels | None,
    bead: Bead | None,
) -> tuple[Finding, ...]:
    """Return everything that is wrong with a file by itself, sorted."""
    findings = [*_watched(path, found), *_never_set(path, found)]
    if levels is not None and bead is not None:
        findings += [*_gaps(path, found, levels), *_flow(path, bead)]
    return in_order(findings)


def _watched(path: Path, found: Harvest) -> Iterator[Finding]:
    feedless = found.state.facts.get("no feed")
    if feedless is not None:
        yield _finding(path, int(feedless), _NO_FEED, 0.0, 1)
    seen = found.watch.faults
    for kind, (line, count, value) in seen.items():
        if kind == "goes outside" and "laid outside" in seen:
            continue
        if kind == "not waited" and {"cold", "never heated"} & set(seen):
            continue
        said = _KINDS["keep-out" if kind.startswith("keep-out") else kind]
        yield _finding(path, line, said, value, count)


_NO_FEED = _Said(
    rule="missing feed",
    level=Level.STOP,
    found="a move before any feed, or with a feed of 0",
    expected="a feed above 0, such as F1800",
    why="the machine moves at whatever speed was set last, or not at all",
    remedy="add the feed, or check that the file is complete from its first line",
)


def _finding(path: Path, line: int | None, said: _Said, value: float, count: int) -> Finding:
    more = f" ({count} moves in all)" if count > 1 else ""
    return Finding(
        rule=said.rule,
        level=said.level,
        part="",
        where=str(path) if line is None else f"{path}:{line}",
        found=said.found.format(value=value) + more,
        expected=said.expected,
        why=said.why,
        remedy=said.remedy,
        source=said.source,
    )


def _never_set(path: Path, found: Harvest) -> Iterator[Finding]:
    if not len(found.lines):
        return
    first = int(found.lines.number[0])
    if not (found.bed[1] > 0).any():
        yield _finding(path, first, _NO_BED, 0.0, 1)
    if not len(found.fan[0]):
        yield _finding(path, first, _NO_FAN, 0.0, 1)


_NO_BED = _Said(
    rule="bed never heated",
    level=Level.WARN,
    found="plastic is laid and the bed is never heated",
    expected="M140 or M190 with a temperature before the first line of plastic",
    why="most filaments come off a cold bed during the print",
    remedy="set the bed's temperature, unless the bed has no heater or needs none",
    source=sources.PRACTICE,
)
_NO_FAN = _Said(
    rule="fan never set",
    level=Level.WARN,
    found="the fan is never set",
    expected="M106 after the first layers, or M107 where no cooling is wanted",
    why="it stays as the print before left it: soft overhangs, or weak layers",
    remedy="set the fan in the file, if only to 0",
    source=sources.PRACTICE,
)


def _gaps(path: Path, found: Harvest, levels: Levels) -> Iterator[Finding]:
    """Stop where a layer is far over the one below."""
    heights = levels.heights_mm()
    if len(heights) < 4:
        return
    usual = float(np.median(heights[1:]))
    most = JUMP_LAYERS * max(usual, float(heights[0]) if heights[0] < 2 * usual else usual)
    for level in np.flatnonzero(heights > max(most, 0.5)):
        line = int(found.lines.number[levels.lines_of(int(level))[0]])
        said = _Said(
            rule="absurd jump",
            level=Level.STOP,
            found="a layer {value:.2f} mm over the one below",
            expected=f"layers some {usual:.2f} mm apart, as elsewhere in the file",
            why="what is laid there hangs in the air: layers are missing",
            remedy="export the toolpath again, and check the mesh for a gap at this height",
        )
        yield _finding(path, line, said, float(heights[level]), 1)
        return


def _flow(path: Path, bead: Bead) -> Iterator[Finding]:
    if FLOW_LEAST <= bead.flow <= FLOW_MOST:
        return
    said = _Said(
        rule="flow",
        level=Level.WARN,
        found=f"{100 * bead.flow:.0f} % of the plastic that would fill between the lines"
        f" (spacing {bead.spacing_mm:.2f} mm, E read as {bead.unit})",
        expected=f"{100 * FLOW_LEAST:.0f} % to {100 * FLOW_MOST:.0f} %",
        why="E seems to count something else than the printer takes it for",
        remedy="check M82, M83, M200 and the diameter of the strand",
    )
    yield _finding(path, None, said, bead.flow, 1)
