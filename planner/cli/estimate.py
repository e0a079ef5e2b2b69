"""`platewright estimate`: filament and time of meshes, or of all parts of a job."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from planner.cli.options import as_json, existing_file

if TYPE_CHECKING:
    from pathlib import Path


@click.command()
@existing_file("files", multiple=True)
@click.option("--settings", default="everyday_020", show_default=True, help="Name or path.")
@click.option("--printer", default="open_frame_220", show_default=True, help="Name or path.")
@click.option("--filament", help="Name or path; the material's own if left out.")
@click.option("--up", default="+z", show_default=True, help="Build direction: +z, -x, 0,1,1.")
@click.option("--unit", help="Unit of the mesh: mm, cm, m, in, foot, micron.")
@as_json()
def estimate(
    files: tuple[Path, ...],
    *,
    settings: str,
    printer: str,
    filament: str | None,
    up: str,
    unit: str | None,
    as_json: bool,
) -> int:
    """Estimate filament and time of FILES.

    A mesh is laid in layers under the settings; a job file (.yaml) stands for all its parts;
    a toolpath file (.gcode) is run on the printer as it is written.
    """
    from planner.cli.screen import console, printing, progress_bar
    from planner.handover.estimates import (
        Wanted,
        estimate_files,
        estimate_toolpaths,
        is_toolpath,
    )
    from planner.report.document import dump, estimate_document
    from planner.report.terminal import print_estimate
    from planner.report.toolpath import print_toolpath, toolpath_entry

    wanted = Wanted(settings=settings, printer=printer, filament=filament, up=up, unit=unit)
    with progress_bar() as progress:
        toolpaths = estimate_toolpaths(
            [path for path in files if is_toolpath(path)], wanted, progress=progress
        )
        meshes = [path for path in files if not is_toolpath(path)]
        estimates = estimate_files(meshes, wanted, progress=progress)
    with printing():
        if as_json:
            document = estimate_document(estimates)
            if toolpaths:
                document["toolpaths"] = [toolpath_entry(toolpath) for toolpath in toolpaths]
            click.echo(dump(document), nl=False)
            return 0
        for toolpath in toolpaths:
            print_toolpath(console(), toolpath)
        if estimates:
            print_estimate(console(), estimates)
    return 0
