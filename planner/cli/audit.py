"""`platewright audit`: settings and parts held against a guideline, before a batch."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from planner.cli.options import PlacePath, as_json, existing_file

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.handover.audits import Asked
    from planner.handover.batch import Batch


@click.command()
@existing_file("files", multiple=True)
@click.option("--guideline", help="A shipped guideline's name, or the path of one.")
@click.option("--job", type=PlacePath(), help="Judge the settings for a part of this job.")
@click.option("--part", help="Name of that part.")
@click.option("--printer", help="Printer of a toolpath, by name or path: its bed and limits.")
@click.option("--filament", help="Filament of a toolpath, by name or path: for its mass.")
@click.option("--lexicon", type=PlacePath(), help="Words of yours for reading settings.")
@click.option(
    "--word", "words", multiple=True, help="One word more, as in herzkammer=infill. Repeatable."
)
@click.option(
    "--strength",
    is_flag=True,
    help="Work out the stresses of a job's parts that carry a load, as plan does; else angles "
    "are compared.",
)
@click.option(
    "--why",
    is_flag=True,
    help="Print the reason and the source of each finding, and all that was read.",
)
@click.option("--junit", metavar="FILE", help="Write JUnit XML; - is stdout.")
@click.option("--sarif", metavar="FILE", help="Write SARIF 2.1.0; - is stdout.")
@click.option("--compare", is_flag=True, help="Say what differs between two settings files.")
@click.option(
    "--fix",
    "fixed",
    metavar="OUT",
    type=PlacePath(),
    help="Write a corrected copy of a settings file.",
)
@click.option("--force", is_flag=True, help="Replace files that are already there.")
@as_json()
def audit(files: tuple[Path, ...], **asked: Any) -> int:
    """Hold job files, settings files and toolpaths against a guideline and physics.

    FILES may be folders and patterns too. Exit code 1 if a finding says stop, 2 if a file
    cannot be read.
    """
    from planner.cli.audits import STDOUT, compare, fix, refuse_mixed, report
    from planner.handover.audits import Asked

    refuse_mixed(files, asked)
    named = ("guideline", "job", "part", "lexicon", "words", "strength", "printer", "filament")
    against = Asked(**{key: asked[key] for key in named})
    if asked["compare"]:
        return compare(files[0], files[1], against, as_json=asked["as_json"])
    if asked["fixed"] is not None:
        return fix(
            files[0],
            asked["fixed"],
            against,
            force=asked["force"],
            as_json=asked["as_json"],
        )
    outs = [Path(name) for name in (asked["junit"], asked["sarif"]) if name not in (None, STDOUT)]
    batch = _audited(files, against, outs)
    return report(
        batch, **{key: asked[key] for key in ("why", "junit", "sarif", "force", "as_json")}
    )


def _audited(files: tuple[Path, ...], asked: Asked, outs: Sequence[Path]) -> Batch:
    from planner.cli.audits import refuse_inputs
    from planner.cli.screen import cores, progress_bar, remark
    from planner.handover.batch import audit_batch, choose, worth_sharing
    from planner.handover.workers import hire

    chosen = choose(files)
    for passed in chosen.remarks:
        remark(f"platewright: {passed}")
    refuse_inputs(outs, chosen.files, asked)
    asked.toolpath_printer()  # a wrong name is wrong, even if no file needs it
    asked.toolpath_filament()
    processes = cores() if worth_sharing(chosen) else 1
    with progress_bar() as progress, hire(processes) as workers:
        return audit_batch(chosen, asked, workers=workers, progress=progress)
