"""`platewright nest`: shapes onto plates."""

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
def nest(file: Path, *, seconds: float, seed: int, as_json: bool) -> int:
    """Pack the shapes of FILE (JSON) onto as few plates as can be found."""
    from planner.cli.screen import console, printing, progress_bar
    from planner.nest.load import load_nest, nest_document
    from planner.nest.pack import effort_for, pack
    from planner.report.document import dump
    from planner.report.terminal import print_packing

    items, beds, clearance_mm, edge_mm = load_nest(file)
    with progress_bar() as progress:
        packing = pack(
            items,
            beds,
            clearance_mm=clearance_mm,
            edge_mm=edge_mm,
            effort=effort_for(seconds),
            seed=seed,
            progress=progress,
        )
    with printing():
        if as_json:
            click.echo(dump(nest_document(packing)), nl=False)
        else:
            print_packing(console(), packing)
    return int(bool(packing.unplaced))
