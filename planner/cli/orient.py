"""`platewright orient`: which way up a part bears its load best."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from planner.cli.options import FiniteRange, PlacePath, as_json, existing_file

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path


@click.command()
@existing_file("mesh")
@click.option(
    "--load",
    required=True,
    type=PlacePath(),
    help="YAML file: force_n, on, held, sustained, or a list of such under loads; visible and "
    "fixings beside it.",
)
@click.option("--material", help="Filament profile; the settings' own if left out.")
@click.option("--settings", default="everyday_020", show_default=True, help="Name or path.")
@click.option("--printer", default="open_frame_220", show_default=True, help="Name or path.")
@click.option("--walls", type=click.IntRange(min=0, max=100), help="Number of walls.")
@click.option("--infill", type=FiniteRange(min=0, max=1), help="Share filled, 0 to 1.")
@click.option("--up", default="+z", show_default=True, help="Direction to compare with.")
@click.option("--unit", help="Unit of the mesh: mm, cm, m, inch, foot, micron.")
@click.option("--picture", type=PlacePath(), help="Write the part with its stresses, as SVG.")
@click.option("--force", is_flag=True, help="Replace the picture if it is there.")
@as_json()
def orient(mesh: Path, *, as_json: bool, picture: Path | None, force: bool, **asked: Any) -> int:
    """Rank the build directions of MESH by how well its layers bear a load.

    What was worked out is kept, so that asking again costs nothing. A factor is a prediction:
    test one to failure before you trust it overhead.
    """
    from planner.cli.screen import console, printing
    from planner.handover.orientation import Question, orient_mesh
    from planner.report.document import dump
    from planner.report.safely import write_text_safely
    from planner.report.strength_picture import strength_picture
    from planner.report.strength_words import orient_document, print_orientation

    if picture is not None:
        _check_picture(picture, [mesh, asked["load"]], force=force)
    found = orient_mesh(mesh, Question(**asked))
    if picture is not None:
        write_text_safely(picture, strength_picture(found, own_style=True), force=force)
    with printing():
        if as_json:
            click.echo(dump(orient_document(found)), nl=False)
        else:
            print_orientation(console(), found)
    return 0


def _check_picture(picture: Path, inputs: Sequence[Path], *, force: bool) -> None:
    """Refuse, before the work, a picture that cannot be written or would replace an input."""
    from planner.errors import input_error
    from planner.report.safely import obstacles, refuse, same_file

    if any(same_file(picture, path) for path in inputs):
        raise input_error(
            picture,
            found="a file that is read",
            expected="another file to draw into",
            remedy="choose another name",
        )
    refuse(obstacles([picture], lambda _path: force))
