"""`platewright plan`: the main job, from the job file to the weekend."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from planner.cli.options import (
    FiniteRange,
    PlacePath,
    as_json,
    check_out_goes_with,
    existing_file,
    plate_limits,
    search_options,
)

if TYPE_CHECKING:
    from pathlib import Path


@click.command()
@existing_file("job_file")
@click.option(
    "--out",
    type=PlacePath(),
    help="Folder for plan.html, visits.html, sheets.html, plan.json, plates/*.3mf, runs.csv, "
    "parts.csv, shopping.csv, visits.ics.",
)
@click.option(
    "--orient",
    type=click.Choice(["audit", "declared", "auto"]),
    default="audit",
    show_default=True,
    help="Build directions. audit: as written; the stresses of parts that carry a load are worked "
    "out and kept, and what a direction costs is told. declared: as written, angles compared. "
    "auto: parts that carry a load are turned to bear most.",
)
@plate_limits
@click.option(
    "--confidence",
    type=FiniteRange(min=0.05, max=0.999),
    help="Plan for these odds, such as 0.9, that all is there by the deadline (the job's "
    "finish_confidence), and tell the hour that can be promised and its price.",
)
@click.option(
    "--what-if",
    "compare",
    is_flag=True,
    help="Compare changes side by side instead: those under what_if in the job, else some that "
    "suit it. Each row gets a third of the search.",
)
@search_options
@click.option("--force", is_flag=True, help="Replace files in the folder that are not ours.")
@as_json()
def plan(
    job_file: Path,
    *,
    out: Path | None,
    parts_per_plate: int | None,
    hours_per_plate: float | None,
    seconds: float,
    seed: int,
    orient: str,
    confidence: float | None,
    compare: bool,
    force: bool,
    as_json: bool,
) -> int:
    """Plan a weekend of printing from JOB_FILE (see `platewright start`)."""
    from planner.cli.screen import console, cores, printing, progress_bar, remark
    from planner.handover.confidence import for_odds
    from planner.job.load import load_job
    from planner.job.plating import limited
    from planner.plan import make_plan
    from planner.report.document import dump, plan_document
    from planner.report.terminal import print_plan
    from planner.report.whatif import print_what_if, what_if_document
    from planner.report.write import check_folder, write_plan
    from planner.whatif.compare import what_if

    check_out_goes_with(out, "force")
    if out is not None:
        check_folder(out, force=force)
    job = limited(load_job(job_file), parts=parts_per_plate, hours=hours_per_plate)
    job = for_odds(job, confidence)
    with progress_bar() as progress:
        search: Any = {"seconds": seconds, "seed": seed, "processes": cores(), "orient": orient}
        found = what_if(job, **search, progress=progress) if compare else None
        made = make_plan(job, **search, progress=progress) if out or not found else None
    # The folder first: whatever happens to the screen, the plan is not lost.
    written = (
        () if made is None or out is None else write_plan(made, out, force=force, what_if=found)
    )
    with printing():
        if found is not None and as_json:
            click.echo(dump(what_if_document(found)), nl=False)
        elif found is not None:
            print_what_if(console(), found)
        elif made is not None and as_json:
            click.echo(dump(plan_document(made)), nl=False)
        elif made is not None:
            print_plan(console(), made)
    if out is not None:
        remark(f"Wrote {len(written)} files to {out}; open {out / 'plan.html'}")
    return int(made.must_stop if made else bool(found and found.own.stops))
