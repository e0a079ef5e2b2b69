"""`platewright wall`: from the shape of a wall to what fills it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from planner.cli.options import PlacePath, as_json, check_out_goes_with, existing_file

if TYPE_CHECKING:
    from pathlib import Path

    from planner.handover.quick.taken import Taken
    from planner.handover.walls import WallAnswer


@click.command()
@existing_file("file")
@click.option(
    "--out",
    type=PlacePath(),
    help="Folder for drawings (SVG, PDF, DXF), templates to drill by (PDF) and fixings.csv.",
)
@click.option(
    "--paper",
    type=click.Choice(["A4", "Letter"]),
    default="A4",
    show_default=True,
    help="Paper of drawings and templates.",
)
@click.option("--settings", help="Settings for every part, in place of the job's: name or path.")
@click.option(
    "--guideline",
    help="Hold the settings against this guideline, name or path, in place of the job's.",
)
@click.option("--force", is_flag=True, help="Replace files in the folder that are not ours.")
@as_json()
def wall(
    file: Path,
    *,
    out: Path | None,
    paper: str,
    settings: str | None,
    guideline: str | None,
    force: bool,
    as_json: bool,
) -> int:
    """Count what the walls of FILE need: a wall file, or a job file with the key wall.

    From a job file also filament, hours, plates and cost, and what a change would add.
    """
    from planner.cli.screen import console, printing, progress_bar, remark
    from planner.handover.quick.styled import restyled
    from planner.handover.quick.taken import what_walls_take
    from planner.handover.walls import answer_for
    from planner.report.document import dump
    from planner.report.wall.document import wall_document
    from planner.report.wall.terminal import print_wall

    check_out_goes_with(out, "paper", "force")
    answer = restyled(answer_for(file), settings=settings, guideline=guideline)
    if out is not None:
        _refuse_if_taken(answer, out, paper=paper, force=force)
    with progress_bar() as progress:
        taken = what_walls_take(answer, progress=progress)
    written = () if out is None else _drawn(answer, taken, out, paper=paper, force=force)
    with printing():
        if as_json:
            click.echo(dump(wall_document(answer, taken)), nl=False)
        else:
            print_wall(console(), answer, taken)
    for words in written:
        remark(words)
    return int(answer.must_stop or taken.must_stop)


def _refuse_if_taken(answer: WallAnswer, out: Path, *, paper: str, force: bool) -> None:
    """Raise InputError, before the work, if the drawings may not be written there."""
    from planner.report.wall.write import check_out, drawings

    check_out(drawings(answer.counted, answer.mounting, paper=paper), out, force=force)


def _drawn(
    answer: WallAnswer, taken: Taken, out: Path, *, paper: str, force: bool
) -> tuple[str, ...]:
    """Write the drawings; return what is to be said of them."""
    from planner.report.wall.write import drawings, template_words, write_wall

    told = (answer.counted, answer.mounting)
    written = write_wall(
        *told,
        out,
        paper=paper,
        force=force,
        stage_of=answer.stages,
        kits=taken.order.kits,
    )
    pages = template_words(drawings(*told, paper=paper))
    return (*pages, f"Wrote {len(written)} files to {out}")
