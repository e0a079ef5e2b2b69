"""`platewright plan`: the main job, from the job file to the weekend."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from planner.cli.options import PlacePath, as_json, existing_file, plate_limits, search_options

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
    force: bool,
    as_json: bool,
) -> int:
    """Plan a weekend of printing from JOB_FILE (see `platewright start`)."""
    from planner.cli.screen import console, cores, printing, progress_bar, remark
    from planner.job.load import load_job
    from planner.job.plating import limited
    from planner.plan import make_plan
    from planner.report.document import dump, plan_document
    from planner.report.terminal import print_plan
    from planner.report.write import check_folder, write_plan

    if out is not None:
        check_folder(out, force=force)
    job = limited(load_job(job_file), parts=parts_per_plate, hours=hours_per_plate)
    with progress_bar() as progress:
        made = make_plan(
            job,
            seconds=seconds,
            seed=seed,
            processes=cores(),
            orient=orient,
            progress=progress,
        )
    # The folder first: whatever happens to the screen, the plan is not lost.
    written = () if out is None else write_plan(made, out, force=force)
    with printing():
        if as_json:
            click.echo(dump(plan_document(made)), nl=False)
        else:
            print_plan(console(), made)
    if out is not None:
        remark(f"Wrote {len(written)} files to {out}; open {out / 'plan.html'}")
    return int(made.must_stop)
