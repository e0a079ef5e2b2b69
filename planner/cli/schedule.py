"""`platewright schedule`: plates made elsewhere, placed in a weekend."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from planner.cli.options import as_json, existing_file, search_options

if TYPE_CHECKING:
    from pathlib import Path


@click.command()
@existing_file("file")
@search_options
@as_json()
def schedule(file: Path, *, seconds: float, seed: int, as_json: bool) -> int:
    """Place the plates of FILE (JSON) on printers while somebody is there to start them."""
    from planner.cli.screen import console, printing, progress_bar
    from planner.report.document import dump
    from planner.report.roster import roster_of_weekend
    from planner.report.terminal import print_weekend
    from planner.schedule.load import load_weekend, schedule_document
    from planner.schedule.solve import effort_for, plan_weekend

    weekend = load_weekend(file)
    with progress_bar() as progress:
        made = plan_weekend(weekend, effort=effort_for(seconds), seed=seed, progress=progress)
    with printing():
        if as_json:
            click.echo(dump(schedule_document(weekend, made)), nl=False)
        else:
            print_weekend(console(), roster_of_weekend(file.stem, weekend, made))
    return int(bool(made.unscheduled))
