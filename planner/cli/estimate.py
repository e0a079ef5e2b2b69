"""`platewright estimate`: filament and time of meshes, or of all parts of a job."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from planner.cli.options import as_json, existing_file

if TYPE_CHECKING:
    from pathlib import Path


@click.command()
@existing_file("meshes", multiple=True)
@click.option("--settings", default="everyday_020", show_default=True, help="Name or path.")
@click.option("--printer", default="open_frame_220", show_default=True, help="Name or path.")
@click.option("--filament", help="Name or path; the material's own if left out.")
@click.option("--up", default="+z", show_default=True, help="Build direction: +z, -x, 0,1,1.")
@click.option("--unit", help="Unit of the mesh: mm, cm, m, in, foot, micron.")
@as_json()
def estimate(
    meshes: tuple[Path, ...],
    *,
    settings: str,
    printer: str,
    filament: str | None,
    up: str,
    unit: str | None,
    as_json: bool,
) -> int:
    """Estimate filament and time of MESHES; a job file (.yaml) stands for all its parts."""
    from planner.cli.screen import console, progress_bar
    from planner.handover.estimates import Wanted, estimate_files
    from planner.report.document import dump, estimate_document
    from planner.report.terminal import print_estimate

    wanted = Wanted(settings=settings, printer=printer, filament=filament, up=up, unit=unit)
    with progress_bar() as progress:
        estimates = estimate_files(meshes, wanted, progress=progress)
    if as_json:
        click.echo(dump(estimate_document(estimates)), nl=False)
    else:
        print_estimate(console(), estimates)
    return 0
