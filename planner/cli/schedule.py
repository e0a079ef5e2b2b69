"""`platewright schedule`: plates made elsewhere, placed in a weekend."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from planner.cli.options import (
    PlacePath,
    as_json,
    check_out_goes_with,
    existing_file,
    search_options,
)

if TYPE_CHECKING:
    from pathlib import Path


@click.command()
@existing_file("file")
@click.option(
    "--out",
    type=PlacePath(),
    help="Folder for schedule.html, visits.html, sheets.html, visits.ics, timeline.svg, runs.csv "
    "and schedule.json.",
)
@search_options
@click.option("--force", is_flag=True, help="Replace files in the folder that are not ours.")
@as_json()
def schedule(
    file: Path, *, out: Path | None, seconds: float, seed: int, force: bool, as_json: bool
) -> int:
    """Place the plates of FILE (JSON) on printers while somebody is there to start them."""
    from planner.cli.screen import console, printing, progress_bar, remark
    from planner.report.document import dump
    from planner.report.roster import roster_of_weekend
    from planner.report.schedule_page import FILES, write_schedule
    from planner.report.terminal import print_weekend
    from planner.report.write import check_folder
    from planner.schedule.load import load_weekend, schedule_document
    from planner.schedule.solve import effort_for, plan_weekend

    check_out_goes_with(out, "force")
    if out is not None:
        check_folder(out, [out / name for name in FILES], force=force)
    weekend = load_weekend(file)
    with progress_bar() as progress:
        work = effort_for(seconds)
        made = plan_weekend(weekend, effort=work, seed=seed, proof=work, progress=progress)
    roster = roster_of_weekend(file.stem, weekend, made)
    written = () if out is None else write_schedule(roster, out, force=force)
    with printing():
        if as_json:
            click.echo(dump(schedule_document(weekend, made)), nl=False)
        else:
            print_weekend(console(), roster)
    if out is not None:
        remark(f"Wrote {len(written)} files to {out}; open {out / 'schedule.html'}")
    return int(bool(made.unscheduled))
