"""The folder of the walls: drawings, templates and places to drill, all of them or none."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner.report.wall.dxf import wall_dxf
from planner.report.wall.elevation.draw import elevation_pdf, elevation_svg
from planner.report.wall.points import fixings_csv
from planner.report.wall.subject import subjects
from planner.report.wall.template.draw import template_pdf
from planner.report.wall.template.overview import counted_words, too_many_words
from planner.report.wall.template.tiles import tile
from planner.report.words import plain
from planner.report.write import check_folder, file_stems, write_folder

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from planner.report.wall.subject import Subject
    from planner.report.wall.template.tiles import Tiling
    from planner.wall.model import Counted, Mounting
    from planner.wall.order.model import Kit

LISTED = ".platewright-wall.json"
FIXINGS = "fixings.csv"


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawings:
    """What can be drawn of the walls: `stems` begin the names of their files."""

    subjects: tuple[Subject, ...]
    tilings: tuple[Tiling, ...]
    stems: tuple[str, ...]


def drawings(
    counted: Counted,
    mounting: Mounting,
    *,
    paper: str = "A4",
    stage_of: Mapping[str, int] | None = None,
    kits: Sequence[Kit] = (),
) -> Drawings:
    """Gather what is drawn of the walls on A4 or Letter; nothing is drawn yet.

    `stage_of` gives parts their stage of the assembly, for the tones; 1 where nothing is said.
    `kits` are marked where their first panel goes.
    """
    told = subjects(counted, mounting, stage_of, kits)
    return Drawings(
        subjects=told,
        tilings=tuple(tile(subject, paper) for subject in told),
        stems=file_stems((subject.name for subject in told), "wall"),
    )


def template_words(told: Drawings) -> tuple[str, ...]:
    """Say of every wall how many pages its template has: to be heard before printing it."""
    return tuple(
        f"{plain(subject.name)}: {_pages(subject, tiling)}"
        for subject, tiling in zip(told.subjects, told.tilings, strict=True)
    )


def write_wall(
    counted: Counted,
    mounting: Mounting,
    out: Path,
    *,
    paper: str = "A4",
    force: bool = False,
    stage_of: Mapping[str, int] | None = None,
    kits: Sequence[Kit] = (),
) -> tuple[Path, ...]:
    """Write the drawings of all walls into the folder `out`; return their paths.

    Raises InputError, before anything is written, for a file there that is not ours or was
    edited since (unless `force`), and if the folder cannot be written.
    """
    told = drawings(counted, mounting, paper=paper, stage_of=stage_of, kits=kits)
    check_out(told, out, force=force)
    return write_folder(render_wall(told, mounting), out, force=force, listed=LISTED)


def check_out(told: Drawings, out: Path, *, force: bool) -> None:
    """Raise InputError if the drawings may not be written into `out`: to be asked first."""
    check_folder(out, [out / name for name in _names(told)], force=force, listed=LISTED)


def render_wall(told: Drawings, mounting: Mounting) -> dict[str, bytes]:
    """Return every drawing as bytes, by its name inside the folder."""
    walls = list(zip(told.subjects, told.tilings, strict=True))
    files = {FIXINGS: fixings_csv(walls, mounting).encode()}
    for stem, (subject, tiling) in zip(told.stems, walls, strict=True):
        files[f"wall-{stem}.svg"] = elevation_svg(subject, own_style=True).encode()
        files[f"wall-{stem}.pdf"] = elevation_pdf(subject, tiling.paper)
        files[f"wall-{stem}.dxf"] = wall_dxf(subject)
        files[f"template-{stem}.pdf"] = template_pdf(subject, tiling)
    return files


def _names(told: Drawings) -> list[str]:
    kinds = ("wall-{}.svg", "wall-{}.pdf", "wall-{}.dxf", "template-{}.pdf")
    return [FIXINGS, *(kind.format(stem) for stem in told.stems for kind in kinds)]


def _pages(subject: Subject, tiling: Tiling) -> str:
    if not subject.fixings:
        return "no fixing, so no template to drill by"
    return too_many_words(tiling) if tiling.too_many else counted_words(tiling)
