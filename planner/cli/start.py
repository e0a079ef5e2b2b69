"""`platewright start`: a copy of the sample workshop to begin from."""

from __future__ import annotations

from pathlib import Path

import click


@click.command()
@click.argument("directory", metavar="DIR", type=click.Path(path_type=Path))
@click.option("--force", is_flag=True, help="Replace files that are already there.")
def start(directory: Path, *, force: bool) -> None:
    """Copy the sample workshop to DIR, to begin from."""
    from planner.cli.screen import remark
    from planner.report.safely import copy_tree_safely
    from planner.shipped import workshop_dir

    copied = copy_tree_safely(workshop_dir(), directory, force=force)
    remark(f"Copied {len(copied)} files to {directory}.")
    remark(f"Next: platewright plan {directory / 'job.yaml'} --out {directory / 'plan'}")
