"""`platewright start`: a copy of the sample workshop to begin from."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from planner.cli.options import PlacePath, as_json

if TYPE_CHECKING:
    from pathlib import Path


@click.command()
@click.argument("directory", metavar="DIR", type=PlacePath())
@click.option("--force", is_flag=True, help="Replace files that are already there.")
@as_json()
def start(directory: Path, *, force: bool, as_json: bool) -> None:
    """Copy the sample workshop to DIR, to begin from."""
    from planner.cli.screen import remark
    from planner.report.document import dump
    from planner.report.safely import copy_tree_safely
    from planner.shipped import workshop_dir

    copied = copy_tree_safely(workshop_dir(), directory, force=force)
    if as_json:
        files = [path.as_posix() for path in copied]
        click.echo(dump({"schema": "platewright/start/1", "files": files}), nl=False)
    remark(f"Copied {len(copied)} files to {directory}.")
    remark(f"Next: platewright plan {directory / 'job.yaml'} --out {directory / 'plan'}")
