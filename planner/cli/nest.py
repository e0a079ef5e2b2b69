"""`platewright nest`: shapes onto plates."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from planner.cli.options import PlacePath, as_json, existing_file, plate_limits, search_options

if TYPE_CHECKING:
    from pathlib import Path

    from planner.nest.model import Placing


RUNS, RUNS_FROM_S = 2, 2.0
"""Searches with seeds of their own, of which the best counts: one per core of a small computer.
Another process takes a second to begin, so a short search stays alone."""


@click.command()
@existing_file("file")
@click.option(
    "--out",
    type=PlacePath(),
    help="Folder for nest.json and one drawing per plate, plates/*.svg, or of the strip.",
)
@click.option(
    "--placing",
    type=click.Choice(["compact", "centre", "spread"]),
    help="Where parts lie once the plates are settled; else what FILE says.",
)
@plate_limits
@search_options
@click.option("--force", is_flag=True, help="Replace files in the folder that are not ours.")
@as_json()
def nest(
    file: Path,
    *,
    out: Path | None,
    placing: Placing | None,
    parts_per_plate: int | None,
    hours_per_plate: float | None,
    seconds: float,
    seed: int,
    force: bool,
    as_json: bool,
) -> int:
    """Pack the shapes of FILE (JSON) onto as few plates as can be found, or into a strip."""
    from planner.cli.screen import console, cores, printing, progress_bar, remark
    from planner.handover.workers import hire
    from planner.nest.answer import nest_document
    from planner.nest.load import load_nest
    from planner.nest.pack import effort_for, pack
    from planner.nest.strip.load import is_strip
    from planner.report.document import dump
    from planner.report.packing import print_packing, write_packing
    from planner.report.write import check_folder

    if is_strip(file):
        if placing or parts_per_plate or hours_per_plate:
            raise click.UsageError("a strip has no plates: leave out --placing and their limits")
        return _strip(file, out, seconds=seconds, seed=seed, force=force, as_json=as_json)
    problem = load_nest(
        file,
        parts_per_plate=parts_per_plate,
        hours_per_plate=hours_per_plate,
        placing=placing,
    )
    if out is not None:
        check_folder(out, [out / "nest.json"], force=force)
    runs = RUNS if seconds >= RUNS_FROM_S else 1
    with progress_bar() as progress, hire(min(runs, cores())) as workers:
        packing = pack(
            problem.items,
            problem.beds,
            clearance_mm=problem.clearance_mm,
            edge_mm=problem.edge_mm,
            wishes=problem.wishes,
            effort=effort_for(seconds),
            seed=seed,
            progress=progress,
            runs=runs,
            workers=workers,
        )
    written = () if out is None else write_packing(packing, problem, out, force=force)
    with printing():
        if as_json:
            click.echo(dump(nest_document(packing)), nl=False)
        else:
            print_packing(console(), packing, problem)
    if out is not None:
        remark(f"Wrote {len(written)} files to {out}")
    return int(bool(packing.unplaced))


def _strip(
    file: Path, out: Path | None, *, seconds: float, seed: int, force: bool, as_json: bool
) -> int:
    """Pack the shapes of a file into a strip, on two cores if there are."""
    from planner.cli.screen import console, cores, printing, progress_bar, remark
    from planner.handover.workers import hire
    from planner.nest.strip.load import load_strip, strip_document
    from planner.nest.strip.pack import RUNS, effort_for, pack_strip
    from planner.report.document import dump
    from planner.report.packing import draw_strip, write_strip
    from planner.report.terminal import print_strip
    from planner.report.write import check_folder

    items, depth_mm, clearance_mm, edge_mm = load_strip(file)
    if out is not None:
        check_folder(out, [out / "nest.json"], force=force)
    with progress_bar() as progress, hire(min(RUNS, cores())) as workers:
        strip = pack_strip(
            items,
            depth_mm,
            clearance_mm=clearance_mm,
            edge_mm=edge_mm,
            effort=effort_for(seconds),
            seed=seed,
            progress=progress,
            workers=workers,
        )
    written: tuple[Path, ...] = ()
    if out is not None:
        drawing = draw_strip(strip, items, depth_mm=depth_mm, edge_mm=edge_mm)
        written = write_strip(strip, drawing, out, force=force)
    with printing():
        if as_json:
            click.echo(dump(strip_document(strip)), nl=False)
        else:
            print_strip(console(), strip)
    if out is not None:
        remark(f"Wrote {len(written)} files to {out}")
    return 0
