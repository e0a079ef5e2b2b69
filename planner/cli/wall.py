"""`platewright wall`: from the shape of a wall to what fills it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from planner.cli.options import as_json, existing_file

if TYPE_CHECKING:
    from pathlib import Path


@click.command()
@existing_file("file")
@as_json()
def wall(file: Path, *, as_json: bool) -> int:
    """Count what the walls of FILE need: a wall file, or a job file with the key wall."""
    from planner.cli.screen import console, printing
    from planner.handover.walls import answer_for
    from planner.report.document import dump
    from planner.report.wall.document import wall_document
    from planner.report.wall.terminal import print_wall

    answer = answer_for(file)
    with printing():
        if as_json:
            click.echo(dump(wall_document(answer)), nl=False)
        else:
            print_wall(console(), answer)
    return int(answer.must_stop)
