"""The plan as one HTML page: no network, no script, for a screen, a phone and paper.

The template decides the order; here the plan is put into the words it shows. Every text goes
through autoescape; only our own drawings and style sheet are passed as markup.
"""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING, Any

from planner.audit.order import grouped
from planner.audit.words import listed
from planner.report import money, sizes, surely, words
from planner.report.drawing import draw_plan_plate, part_numbers
from planner.report.kits import elevations, kits_view
from planner.report.page import drawn, style, template
from planner.report.palette import kind_class
from planner.report.roster import roster_of_plan
from planner.report.strength_page import strength_view
from planner.report.timeline import draw_days, draw_timeline
from planner.report.whatif import what_if_view
from planner.report.words import zone_of

if TYPE_CHECKING:
    from datetime import datetime

    from planner.audit.model import Finding
    from planner.handover.model import Plan, PlannedPlate, ReadyPart
    from planner.layers.model import PrintTime
    from planner.schedule.model import Visit
    from planner.whatif.model import WhatIf

View = dict[str, Any]


def plan_html(plan: Plan, what_if: WhatIf | None = None) -> str:
    """Return the page as text; the same plan gives the same bytes."""
    page, roster = template("plan.html.j2"), roster_of_plan(plan)
    return page.render(
        style=style(),
        timeline=drawn(draw_timeline(roster)),
        days_drawn=[drawn(day) for day in draw_days(roster)],
        head=_head(plan),
        findings=_findings(plan.findings),
        days=_days(plan),
        plates=[_plate(plan, plate) for plate in plan.plates],
        parts=[_part(plan, ready) for ready in plan.parts],
        strength=strength_view(plan),
        spools=_spools(plan),
        totals=_totals(plan),
        costs=_costs(plan),
        currency=plan.job.currency,
        shopping=_shopping(plan),
        kits=kits_view(plan, zone_of(plan)),
        elevations=[drawn(each) for each in elevations(plan)],
        bounds=_bounds(plan),
        missing=_missing(plan),
        hours_won=sizes.hours_won(plan),
        sets=words.sets_told(plan.weekend),
        blocked=any(machine.blocked for machine in roster.weekend.machines),
        surely=surely.told(plan),
        spare_rows=surely.spares_view(plan.spares),
        what_if=None if what_if is None else what_if_view(what_if),
        cautions=plan.cautions,
        notes=sorted(plan.job.notes.items()),
        time_remarks=_time_remarks(plan),
        confidence=words.share(plan.job.confidence),
        failure_rate=words.share(plan.job.failure_rate),
    )


def _head(plan: Plan) -> View:
    zone, job = zone_of(plan), plan.job
    finish, deadline = plan.weekend.finish, job.deadline
    taken = words.in_hand(plan.weekend)
    return {
        "name": job.name,
        "zone": job.time_zone,
        "guideline": job.guideline.name,
        "start": _moment(job.start, plan),
        "finish": None if finish is None else _moment(finish, plan),
        "in_hand": None if taken is None else _moment(taken, plan),
        "deadline": None if deadline is None else _moment(deadline, plan),
        "late": finish is not None and deadline is not None and finish > deadline,
        "odds": words.share(plan.odds),
        "all_odds": words.share(plan.spares.odds) if plan.spares else "",
        "all_by": "by the deadline" if deadline else "in the hours given",
        "weekend_odds": words.weekend_odds(plan),
        "printers": words.thing(len(job.machines), "printer"),
        "date": job.start.astimezone(zone).date().isoformat(),
    }


def _moment(moment: datetime, plan: Plan) -> str:
    zone = zone_of(plan)
    return f"{words.day(moment, zone)}, {words.clock(moment, zone)}"


def _findings(findings: tuple[Finding, ...]) -> list[View]:
    """List what was found by level, the gravest first; what says the same is told once."""
    groups = grouped(findings)
    levels = []
    for level in words.LEVELS:
        cards = [
            {"said": group, "parts": listed(group.parts), "wheres": ", ".join(group.wheres)}
            for group in groups
            if str(group.level) == level
        ]
        if cards:
            found = sum(str(finding.level) == level for finding in findings)
            levels.append({"level": level, "cards": cards, "found": found})
    return levels


def _missing(plan: Plan) -> str:
    """Count what is not planned; the findings say which and why."""
    copies = sum(count for _, count, _ in plan.left_out)
    told = [
        f"{words.thing(copies, 'copy', 'copies')} on no plate" if copies else "",
        f"{words.thing(len(plan.weekend.unscheduled), 'plate')} not scheduled"
        if plan.weekend.unscheduled
        else "",
    ]
    return ", ".join(text for text in told if text)


def _days(plan: Plan) -> list[View]:
    """Group the visits by local day."""
    zone = zone_of(plan)

    def day_of(visit: Visit) -> str:
        return words.day(visit.at, zone)

    return [
        {"day": day, "visits": [_visit(visit, plan) for visit in visits]}
        for day, visits in groupby(plan.weekend.visits, key=day_of)
    ]


def _visit(visit: Visit, plan: Plan) -> View:
    zone = zone_of(plan)
    return {
        "clock": words.clock(visit.at, zone),
        "iso": words.iso(visit.at, zone),
        "who": visit.who,
        "text": words.errand(visit),
        "boxed": f"done: {words.clock(visit.at, zone)}, {words.errand(visit)}",
    }


def _plate(plan: Plan, plate: PlannedPlate) -> View:
    numbers = part_numbers(plan)
    _, seconds, range_s = words.plate_time(plan, plate)
    cost = money.cost_of(plan, plate)
    return {
        "id": plate.id,
        "kind": plate.kind,
        "printer": words.printer_of(plan, plate),
        "drawing": drawn(draw_plan_plate(plan, plate)),
        "contents": [
            {"number": numbers[name], "css": kind_class(numbers[name]), "name": name, "count": n}
            for name, n in plate.counts.items()
        ],
        "copies": words.thing(len(plate.placements), "copy", "copies"),
        "grams": plate.grams,
        "cost": "" if cost is None else money.money(cost, plan.job.currency),
        "seconds": seconds,
        "range_s": range_s,
        "fill": plate.fill,
        "setup": _setup(plate),
        "gate": f"{', '.join(plate.gate)} {words.are(len(plate.gate))}" if plate.gate else "",
        "run": _run_words(plan, plate),
        "small": sizes.why_small(plan, plate),
    }


def _setup(plate: PlannedPlate) -> str:
    colour = plate.colour or "any colour"
    return (
        f"{plate.material}, {colour}, nozzle {plate.nozzle_mm:g} mm, layers {plate.layer_mm:g} mm"
    )


def _run_words(plan: Plan, plate: PlannedPlate) -> str:
    zone = zone_of(plan)
    for run in plan.weekend.runs:
        if run.plate == plate.id:
            until = words.when(run.end, zone)
            return f"{words.when(run.start, zone)} to {until}, with {words.both_spools(run)}"
    return "not scheduled"


def _part(plan: Plan, ready: ReadyPart) -> View:
    number, posed = part_numbers(plan)[ready.part.name], ready.posed
    return {
        "number": number,
        "css": kind_class(number),
        "name": ready.part.name,
        "mesh": ready.part.mesh.name,
        "up": words.up_name(posed.up),
        "size": words.size(posed.size_mm),
        "closed": posed.solid.closed,
        "repairs": [repair.text for repair in posed.solid.repairs],
        "need": ready.need,
        "odds": words.share(ready.need.odds),
        "layers": ready.layering.layers,
        "grams": ready.grams,
        "metres": f"{ready.filament.length_m(ready.layering.filament_mm3):.1f} m",
        "material": ready.filament.material,
        "settings": ready.part.settings.name,
        "times": [_time(name, time) for name, time in words.quickest_first(ready)],
    }


def _time(printer: str, time: PrintTime) -> View:
    return {"printer": printer, "seconds": time.middle_s, "range_s": time.range_s}


def _spools(plan: Plan) -> list[View]:
    left_g = dict(plan.weekend.spool_left_g)
    spools = []
    for spool in plan.job.spools:
        left = left_g.get(spool.name, spool.left_g)
        spools.append(
            {"spool": spool, "used_g": spool.left_g - left, "left_g": left, "low": left < 50}
        )
    return spools


def _totals(plan: Plan) -> View:
    totals, currency = plan.totals, plan.job.currency
    return {
        "copies": words.thing(totals.copies, "copy", "copies"),
        "plates": words.thing(totals.plates, "plate"),
        "filament": words.mass(totals.filament_g),
        "materials": f"{words.by_material(totals.filament_g_by_material)} "
        f"({words.mass_range(totals.filament_range_g)})",
        "print": words.hours(totals.print_s),
        "print_range": words.hours_range(totals.print_range_s),
        "hands_on": words.hands_on(plan),
        "energy": f"{totals.energy_kwh:.1f} kWh",
        "filament_cost": money.money(totals.filament_cost, currency),
        "energy_cost": money.money(totals.energy_cost, currency),
        "wear_cost": money.money(totals.wear_cost, currency) if totals.wear_cost else "",
        "wear_unknown": money.wear_words(totals),
        "cost": money.money(totals.cost, currency),
        "cost_of": "filament, electricity and wear"
        if totals.wear_cost
        else "filament and electricity",
    }


def _costs(plan: Plan) -> list[View]:
    """Return what each plate costs; empty where it was not worked out."""
    return [
        {
            "plate": cost.plate,
            "filament": f"{cost.filament:.2f}",
            "electricity": f"{cost.electricity:.2f}",
            "wear": f"{cost.wear:.2f}" if plan.totals.wear_cost else "",
            "cost": f"{cost.cost:.2f}",
        }
        for cost in plan.costs
    ]


def _shopping(plan: Plan) -> View:
    """Return the shopping list, with what its numbers do not say."""
    currency = plan.job.currency
    return {
        "lines": [
            {
                "kind": money.kind_of(line),
                "need_g": line.need_g,
                "range": words.mass_range(line.need_range_g),
                "shelf_g": line.shelf_g,
                "short_g": line.short_g,
                "buy": money.to_buy(line),
                "cost": money.money(line.cost, currency) if line.spools else "",
            }
            for line in plan.shopping
        ],
        "remarks": [each for line in plan.shopping for each in money.shopping_remarks(line)],
        "note": money.shopping_note(plan),
        "sum": money.shopping_sum(plan),
    }


def _bounds(plan: Plan) -> View:
    finish, bound = plan.weekend.finish, plan.weekend.lower_bound
    return {
        "plates": plan.plate_bounds,
        "finish": None if finish is None else _moment(finish, plan),
        "bound": None if bound is None else _moment(bound, plan),
        "bound_by": plan.weekend.bound_by,
    }


def _time_remarks(plan: Plan) -> list[str]:
    times = (time for ready in plan.parts for time in ready.times.values())
    return words.merged(reason for time in times for reason in time.reasons)
