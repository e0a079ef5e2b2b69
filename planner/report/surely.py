"""How sure it is that all is there in time, what spares do for it, and what a plan promises."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from planner.report import words
from planner.report.words import number, share, zone_of

if TYPE_CHECKING:
    from planner.handover.confidence import Promise
    from planner.handover.model import Plan
    from planner.handover.spares import SpareAdvice

NAMED_MOST = 8
"""More kinds of spares than this are counted and not named; invented."""


def told(plan: Plan) -> list[str]:
    """Say the odds of everything, what costs odds, which spares are worth it, and the promise."""
    return [*_everything(plan), *_spares(plan), *promise_told(plan)]


def _everything(plan: Plan) -> list[str]:
    by, lacking = _by(plan), _lacking(plan)
    if lacking:
        whole = 0.0 if plan.spares is None else plan.spares.odds
        return [f"{share(whole)} that all is there {by}, with {lacking}"]
    if plan.spares is None or plan.weekend_odds is None:
        return []
    said = [
        (
            f"{share(plan.spares.odds)} that all is there {by}, bad copies printed again at the "
            "end if there is time"
        )
    ]
    odds = plan.weekend_odds
    failures = odds.if_none_failed - odds.by_deadline
    costs = [("hours that vary", 1 - odds.if_none_failed), ("plates that fail", failures)]
    costs.append(("bad copies", odds.by_deadline - plan.spares.odds))
    dear = [f"{what} {round(100 * points)}" for what, points in costs if points >= 0.005]
    return [*said, f"points that are lost: {', '.join(dear)}"] if dear else said


def _lacking(plan: Plan) -> str:
    """Say what has no place at all; empty if everything has one."""
    copies = sum(count for _, count, _ in plan.left_out)
    waiting = len(plan.weekend.unscheduled)
    said = (
        f"{words.thing(copies, 'copy', 'copies')} on no plate" if copies else "",
        f"{words.thing(waiting, 'plate')} not scheduled" if waiting else "",
    )
    return " and ".join(each for each in said if each)


def _by(plan: Plan) -> str:
    return "by the deadline" if plan.job.deadline else "in the hours given"


def _spares(plan: Plan) -> list[str]:
    """Say what spares are worth their hours, where that is not what is printed."""
    advice = plan.spares
    if advice is None or plan.weekend.unscheduled or plan.left_out:  # plates come before spares
        return []
    now, worth = (sum(getattr(row, key) for row in advice.rows) for key in ("spares", "worth"))
    if now == worth == 0:
        return ["no spare copies: none would be worth its hours"]
    if all(row.worth == row.spares for row in advice.rows):
        return [f"{words.thing(worth, 'spare copy', 'spare copies')}: each worth its hours"]
    named = [f"{row.worth} {row.part}" for row in advice.rows if row.worth]
    more = len(named) - NAMED_MOST
    named = named[:NAMED_MOST] + ([f"{more} kinds more"] if more > 0 else [])
    kinds = f" ({', '.join(named)})" if named else ""
    verb = "takes" if advice.more_s >= 0 else "saves"
    return [
        (
            f"spares worth their hours: {worth}{kinds} instead of {now}, which {verb} "
            f"{words.hours(abs(advice.more_s))} of printing and {words.mass(abs(advice.more_g))}, "
            f"and gives {share(advice.odds_if_worth)}"
        )
    ]


def promise_told(plan: Plan) -> list[str]:
    """Say what a plan for wanted odds holds out, what it costs, and what would reach them."""
    promise, zone = plan.promise, zone_of(plan)
    if promise is None:
        return []
    wanted = share(promise.wanted)
    hour = f" by {words.day_and_clock(promise.at, zone)}" if promise.at else ""
    if promise.kept:
        first = f"promised: all is there with {wanted}{hour} ({share(promise.odds)} {_by(plan)})"
    else:
        first = f"{wanted} are not reached {_by(plan)}; the surest plan has {share(promise.odds)}"
    return [first, _price(promise), *_remedies(promise, plan)]


def _price(promise: Promise) -> str:
    side = "later" if promise.later_s >= 0 else "earlier"
    plates, copies = promise.more_plates, promise.more_copies
    return (
        f"against the plan without wanted odds ({share(promise.plain_odds)}): done "
        f"{words.hours(abs(promise.later_s))} {side} if all goes well, "
        f"{plates:+d} {'plate' if abs(plates) == 1 else 'plates'}, "
        f"{copies:+d} {'copy' if abs(copies) == 1 else 'copies'}, {promise.more_g:+.0f} g"
    )


def _remedies(promise: Promise, plan: Plan) -> list[str]:
    if promise.kept:
        return []
    if plan.left_out:
        return ["first mend what keeps copies off the plates: it is told at the top"]
    wanted, said = share(promise.wanted), []
    if promise.at is not None and plan.job.deadline is not None:
        late = (promise.at - plan.job.deadline).total_seconds()
        said.append(f"a deadline {words.hours(max(0.0, late))} later would reach {wanted}")
    elif promise.at_with_days is not None:
        moment = words.day_and_clock(promise.at_with_days, zone_of(plan))
        said.append(
            f"{wanted} by {moment}, if the hours of the last day came again on the days after"
        )
    if promise.without:
        contents = {plate.id: plate for plate in plan.plates}
        named = "; ".join(f"{p} ({words.contents(contents[p])})" for p in promise.without)
        said.append(f"without these plates the others reach {wanted}: {named}")
    return said or ["neither more days nor fewer plates would reach it; print faster or less"]


def everything_entry(plan: Plan) -> dict[str, Any] | None:
    """Return the odds of everything and what spares do for them, as plain types."""
    advice = plan.spares
    if advice is None:
        return None
    return {
        "by_deadline": number(advice.odds, 6),
        "by_deadline_if_spares_as_worth": number(advice.odds_if_worth, 6),
        "more_print_s": number(advice.more_s),
        "more_filament_g": number(advice.more_g),
        "spares": [
            {
                "part": row.part,
                "needed": row.needed,
                "spares": row.spares,
                "worth": row.worth,
                "one_more": number(row.one_more, 6),
                "one_fewer": number(row.one_fewer, 6),
                "copy_s": number(row.copy_s),
                "copy_g": number(row.copy_g),
            }
            for row in advice.rows
        ],
    }


def promise_entry(plan: Plan) -> dict[str, Any] | None:
    """Return the promise as plain types; None where the job wants no odds."""
    promise, zone = plan.promise, zone_of(plan)
    if promise is None:
        return None
    again = promise.at_with_days
    return {
        "wanted": promise.wanted,
        "by_deadline": number(promise.odds, 6),
        "kept": promise.kept,
        "at": None if promise.at is None else words.iso(promise.at, zone),
        "plain_by_deadline": number(promise.plain_odds, 6),
        "later_s": number(promise.later_s),
        "more_plates": promise.more_plates,
        "more_copies": promise.more_copies,
        "more_filament_g": number(promise.more_g),
        "at_if_last_day_repeated": None if again is None else words.iso(again, zone),
        "reached_without_plates": list(promise.without),
    }


def spares_view(advice: SpareAdvice | None) -> list[dict[str, str]]:
    """Return the rows of the table of spares for the page."""
    if advice is None:
        return []
    return [
        {
            "part": row.part,
            "needed": str(row.needed),
            "spares": str(row.spares),
            "worth": str(row.worth),
            "more": f"{100 * row.one_more:+.1f}",
            "fewer": f"{100 * row.one_fewer:+.1f}" if row.spares else "",
            "time": words.clock_hours(row.copy_s),
            "grams": words.mass(row.copy_g),
        }
        for row in advice.rows
    ]
