"""The folder of a weekend with plates made elsewhere: page, picture, lists and calendar."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from planner.audit.cautions import FIRE
from planner.report import words
from planner.report.calendar import visits_ics
from planner.report.document import dump
from planner.report.errands import alone_words
from planner.report.page import drawn, style, template
from planner.report.sheets import sheets_html
from planner.report.tables import roster_csv
from planner.report.timeline import draw_days, draw_timeline
from planner.report.visits_page import days_view, visits_html
from planner.report.write import write_folder
from planner.schedule.told import schedule_document

if TYPE_CHECKING:
    from pathlib import Path

    from planner.report.roster import Roster
    from planner.schedule.model import Run

View = dict[str, Any]
FILES = (
    *("schedule.html", "schedule.json", "timeline.svg", "visits.html", "sheets.html"),
    *("visits.ics", "runs.csv"),
)


def write_schedule(roster: Roster, out: Path, *, force: bool) -> tuple[Path, ...]:
    """Write the files of a weekend into the folder `out`; see `write_folder`."""
    return write_folder(render_schedule(roster), out, force=force)


def render_schedule(roster: Roster) -> dict[str, bytes]:
    """Return every file of a weekend as bytes, by its name inside the folder."""
    document = schedule_document(roster.weekend, roster.made)
    texts = {
        "schedule.html": schedule_html(roster),
        "schedule.json": dump(document),
        "timeline.svg": draw_timeline(roster, own_style=True),
        "visits.html": visits_html(roster),
        "sheets.html": sheets_html(roster),
        "runs.csv": roster_csv(roster),
    }
    files = {name: text.encode(errors="replace") for name, text in texts.items()}
    return {**files, "visits.ics": visits_ics(roster)}


def schedule_html(roster: Roster) -> str:
    """Return the page as text; the same roster gives the same bytes."""
    made, zone = roster.made, roster.zone
    deadline, bound = roster.weekend.deadline, made.lower_bound
    return template("schedule.html.j2").render(
        style=style(),
        name=roster.name,
        zone=str(zone),
        finish=words.finish(made, zone),
        bound=None if bound is None else words.day_and_clock(bound, zone),
        bound_by=made.bound_by,
        deadline=None if deadline is None else words.day_and_clock(deadline, zone),
        late=made.finish is not None and deadline is not None and made.finish > deadline,
        printers=words.thing(len(roster.weekend.machines), "printer"),
        plates=words.thing(len(roster.weekend.tasks), "plate"),
        waiting=made.unscheduled,
        remarks=made.remarks,
        sets=words.sets_told(made),
        blocked=any(machine.blocked for machine in roster.weekend.machines),
        timeline=drawn(draw_timeline(roster)),
        days_drawn=[drawn(day) for day in draw_days(roster)],
        days=days_view(roster),
        runs=[_run(roster, run) for run in made.runs],
        spools=_spools(roster),
        alone=[alone_words(run) for run in made.runs if run.alone_s > 0],
        fire=FIRE,
    )


def _run(roster: Roster, run: Run) -> View:
    task = roster.tasks[run.plate]
    return {
        "plate": run.plate,
        "machine": run.machine,
        "start": words.when(run.start, roster.zone),
        "end": words.when(run.end, roster.zone),
        "took": words.hours((run.end - run.start).total_seconds()),
        "alone": words.hours(run.alone_s) if run.alone_s > 0 else "never",
        "spool": words.both_spools(run),
        "filament": roster.filament(run.spool),
        "grams": task.grams,
    }


def _spools(roster: Roster) -> list[View]:
    left_g = dict(roster.made.spool_left_g)
    return [
        {
            "name": spool.id,
            "filament": roster.filament(spool.id),
            "before_g": spool.grams,
            "used_g": spool.grams - left_g.get(spool.id, spool.grams),
            "left_g": left_g.get(spool.id, spool.grams),
        }
        for spool in roster.weekend.spools
    ]
