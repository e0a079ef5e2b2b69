"""The visits as a page for a phone: a list to tick off, day by day, without scripts."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from planner.report import words
from planner.report.errands import errands_by_day
from planner.report.page import style, template

if TYPE_CHECKING:
    from planner.report.errands import Errand
    from planner.report.roster import Roster


def visits_html(roster: Roster) -> str:
    """Return the page as text; the same roster gives the same bytes."""
    return template("visits.html.j2").render(
        style=style(),
        name=roster.name,
        zone=str(roster.zone),
        finish=words.finish(roster.made, roster.zone),
        days=days_view(roster),
        waiting=[f"{plate}: {why}" for plate, why in roster.made.unscheduled],
        remarks=roster.made.remarks,
    )


def days_view(roster: Roster) -> list[dict[str, Any]]:
    """Return the visits of each day in the words of a page."""
    days, number = [], 0
    for day, errands in errands_by_day(roster):
        days.append(
            {
                "day": day,
                "visits": [
                    _view(roster, errand, n) for n, errand in enumerate(errands, number + 1)
                ],
            }
        )
        number += len(errands)
    return days


def _view(roster: Roster, errand: Errand, number: int) -> dict[str, Any]:
    return {
        "number": number,
        "clock": words.clock(errand.at, roster.zone),
        "iso": words.iso(errand.at, roster.zone),
        "until": words.clock(errand.until, roster.zone),
        "who": errand.who,
        "machine": errand.machine,
        "steps": errand.steps,
        "alone": errand.alone,
        "after": errand.after,
    }
