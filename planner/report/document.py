"""The plan as one JSON document: plain types, units in the keys, the same bytes every time.

Times are ISO 8601 with the offset of the job's zone. Floats are rounded to a thousandth, so
that the last bits of a platform's arithmetic do not show.
"""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

from planner.handover.estimates import totals_of_estimates
from planner.handover.orientation import Oriented
from planner.layers.model import FEATURES
from planner.layers.plate import by_feature_s
from planner.report.kits import kits_entries
from planner.report.sizes import why_small
from planner.report.strength_words import strength_entry
from planner.report.surely import everything_entry, promise_entry
from planner.report.words import errand, iso, merged, number, plate_time, up_name, zone_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from zoneinfo import ZoneInfo

    from planner.audit.model import Finding
    from planner.handover.estimates import Estimate
    from planner.handover.model import Plan, PlannedPlate, ReadyPart, ShoppingLine
    from planner.job.model import Spool
    from planner.layers.model import Layering, PrintTime
    from planner.nest.model import Placement
    from planner.schedule.model import Run, Visit, WeekendPlan
    from planner.settings.model import Filament
    from planner.solid.model import Posed

Document = dict[str, Any]


def dump(document: Mapping[str, Any]) -> str:
    """Return a document as JSON text: two-space indent, newline at the end, never NaN."""
    text = json.dumps(document, indent=2, ensure_ascii=False, allow_nan=False) + "\n"
    # A file name that is no UTF-8 comes as lone surrogates, which no UTF-8 text may hold.
    return text.encode(errors="replace").decode()


def plan_document(plan: Plan) -> Document:
    """Return the whole plan as plain JSON types (schema "platewright/plan/1")."""
    zone, job = zone_of(plan), plan.job
    return {
        "schema": "platewright/plan/1",
        "name": job.name,
        "time_zone": job.time_zone,
        "start": iso(job.start, zone),
        "deadline": None if job.deadline is None else iso(job.deadline, zone),
        "guideline": job.guideline.name,
        "findings": [finding_entry(finding) for finding in plan.findings],
        "parts": [
            {**_part(ready, job.path.parent), **_strength(plan, ready)} for ready in plan.parts
        ],
        "plates": [{**_plate(plan, plate), **_cost(plan, plate)} for plate in plan.plates],
        "runs": [_run(run, zone) for run in plan.weekend.runs],
        "visits": [_visit(visit, zone) for visit in plan.weekend.visits],
        "spools": _spools(job.spools, dict(plan.weekend.spool_left_g)),
        "shopping": [_shopping(line, job.currency) for line in plan.shopping],
        "kits": kits_entries(plan, zone),
        "totals": _totals(plan),
        "hours_won": _hours_won(plan),
        "bounds": _bounds(plan),
        "odds": number(plan.odds, 6),
        "weekend_odds": _weekend_odds(plan),
        "everything": everything_entry(plan),
        "promise": promise_entry(plan),
        "left_out": [{"part": p, "copies": n, "why": why} for p, n, why in plan.left_out],
        "unscheduled": _unscheduled(plan.weekend),
        "sets": _sets(plan.weekend),
        "cautions": list(plan.cautions),
        "notes": dict(sorted(job.notes.items())),
    }


def estimate_document(estimates: Iterable[Estimate]) -> Document:
    """Return what each mesh takes (schema "platewright/estimate/1"); times on one printer."""
    estimates = list(estimates)
    totals = totals_of_estimates(estimates)
    return {
        "schema": "platewright/estimate/1",
        "parts": [_estimate(estimate) for estimate in estimates],
        "totals": {
            "copies": totals.copies,
            "filament_g": number(totals.filament_g),
            "filament_range_g": _pair(totals.filament_range_g),
            "filament_g_by_material": {
                name: number(grams) for name, grams in totals.filament_g_by_material.items()
            },
            "time_s": number(totals.time_s),
            "time_range_s": _pair(totals.time_range_s),
        },
    }


def finding_entry(finding: Finding) -> Document:
    """Return one finding as plain types, its fields in the order of the dataclass."""
    return {
        "rule": finding.rule,
        "level": str(finding.level),
        "part": finding.part,
        "where": finding.where,
        "found": finding.found,
        "expected": finding.expected,
        "why": finding.why,
        "remedy": finding.remedy,
        "source": finding.source,
        "change": None
        if finding.change is None
        else {"key": finding.change.key, "value": finding.change.value},
    }


def _solid(posed: Posed) -> Document:
    return {
        "closed": posed.solid.closed,
        "repairs": [repair.text for repair in posed.solid.repairs],
        "volume_mm3": number(posed.solid.volume_mm3),
    }


def _laid(layering: Layering, filament: Filament) -> Document:
    return {
        "layers": layering.layers,
        "height_mm": number(float(layering.height_mm.sum())),
        "filament_mm3": number(layering.filament_mm3),
        "filament_g": number(filament.mass_g(layering.filament_mm3)),
        "filament_m": number(filament.length_m(layering.filament_mm3)),
    }


def _estimate(estimate: Estimate) -> Document:
    posed, layering, time = estimate.posed, estimate.layering, estimate.time
    return {
        "mesh": estimate.name,
        "copies": estimate.quantity,
        "settings": estimate.settings.name,
        "printer": estimate.printer.name,
        "filament": estimate.filament.name,
        **_solid(posed),
        "size_mm": [number(value) for value in posed.size_mm],
        "up": up_name(posed.up),
        **_laid(layering, estimate.filament),
        "filament_range_g": _pair(estimate.grams_range),
        "filament_remarks": list(estimate.grams_reasons),
        "time_s": number(time.middle_s),
        "time_range_s": _pair(time.range_s),
        "by_feature": _by_feature(layering, time),
        "layer_area_sum_mm2": number(layering.layer_area_sum_mm2),
        "time_remarks": merged(time.reasons),
    }


def _by_feature(layering: Layering, time: PrintTime | None) -> Document:
    """Sum every feature over the layers; times are left out where there are none."""
    seconds = {} if time is None else by_feature_s(time)
    entries = {}
    for column, feature in enumerate(FEATURES):
        entry = {
            "length_mm": number(float(layering.length_mm[:, column].sum())),
            "volume_mm3": number(float(layering.volume_mm3[:, column].sum())),
        }
        if time is not None:
            entry["time_s"] = number(seconds[feature])
        entries[str(feature)] = entry
    return entries


def _part(ready: ReadyPart, home: Path) -> Document:
    need, posed = ready.need, ready.posed
    first = next(iter(ready.times.values()), None)
    return {
        "name": ready.part.name,
        "mesh": _beside(ready.part.mesh, home),
        **_solid(posed),
        "size_mm": [number(value) for value in posed.size_mm],
        "up": up_name(posed.up),
        "settings": ready.part.settings.name,
        "material": ready.filament.material,
        "colour": ready.part.colour,
        "stage": ready.part.stage,
        **_laid(ready.layering, ready.filament),
        "filament_range_g": _pair(ready.grams_range),
        "filament_remarks": list(ready.grams_reasons),
        "time_s": {name: number(time.middle_s) for name, time in ready.times.items()},
        "time_range_s": {name: _pair(time.range_s) for name, time in ready.times.items()},
        "time_remarks": merged(why for time in ready.times.values() for why in time.reasons),
        "by_feature_on": next(iter(ready.times), None),
        "by_feature": _by_feature(ready.layering, first),
        "layer_area_sum_mm2": number(ready.layering.layer_area_sum_mm2),
        "needed": need.needed,
        "from_stock": need.from_stock,
        "spares": need.spares,
        "to_print": need.to_print,
        "odds": number(need.odds, 6),
        "because": need.because,
    }


def _strength(plan: Plan, ready: ReadyPart) -> Document:
    """Return what was worked out of a part's strength, None where nothing was."""
    found = plan.strengths.get(ready.part.name)
    return {"strength": strength_entry(found) if isinstance(found, Oriented) else None}


def _beside(path: Path, home: Path) -> str:
    """Say where a file lies seen from the job file, so that a moved folder reads the same."""
    return Path(os.path.relpath(path, home)).as_posix()


def _plate(plan: Plan, plate: PlannedPlate) -> Document:
    machine, _, _ = plate_time(plan, plate)
    return {
        "id": plate.id,
        "kind": plate.kind,
        "printer": machine or None,
        "profile": plate.printer.name,
        "bed": {
            "width_mm": number(plate.printer.bed_width_mm),
            "depth_mm": number(plate.printer.bed_depth_mm),
        },
        "counts": plate.counts,
        "placements": [_placement(placement) for placement in plate.placements],
        "fill": number(plate.fill, 4),
        "nozzle_mm": number(plate.nozzle_mm),
        "layer_mm": number(plate.layer_mm),
        "material": plate.material,
        "colour": plate.colour,
        "filament_g": number(plate.grams),
        "time_s": {name: number(seconds) for name, seconds in plate.seconds.items()},
        "time_range_s": {name: _pair(pair) for name, pair in plate.ranges_s.items()},
        "stage": plate.stage,
        "gate": list(plate.gate),
        "why_small": why_small(plan, plate) or None,
    }


def _cost(plan: Plan, plate: PlannedPlate) -> Document:
    """Return what a plate costs, to a hundredth of a cent, so that the sums come out."""
    for cost in plan.costs:
        if cost.plate == plate.id:
            return {
                "energy_kwh": number(cost.energy_kwh, 4),
                "filament_cost": number(cost.filament, 4),
                "energy_cost": number(cost.electricity, 4),
                "wear_cost": number(cost.wear, 4),
                "cost": number(cost.cost, 4),
            }
    return {}


def _shopping(line: ShoppingLine, currency: str) -> Document:
    return {
        "material": line.material,
        "colour": line.colour,
        "need_g": number(line.need_g),
        "need_range_g": _pair(line.need_range_g),
        "shelf_g": number(line.shelf_g),
        "short_g": number(line.short_g),
        "without_spool": list(line.without_spool),
        "spools": line.spools,
        "spool_g": number(line.spool_g),
        "price_per_kg": number(line.price_per_kg, 4),
        "cost": number(line.cost, 2),
        "currency": currency,
        "may_lack_g": number(line.may_lack_g),
    }


def _placement(placement: Placement) -> Document:
    """Keep a tenth of a micron: a reader may check clearances to the micron.

    `order` counts the copies of a plate that is printed one part after the other.
    """
    told = {
        "id": placement.id,
        "x_mm": number(placement.x_mm, 4),
        "y_mm": number(placement.y_mm, 4),
        "rotation_deg": number(placement.rotation_deg, 4),
    }
    return told if placement.order is None else {**told, "order": placement.order}


def _run(run: Run, zone: ZoneInfo) -> Document:
    return {
        "plate": run.plate,
        "printer": run.machine,
        "start": iso(run.start, zone),
        "end": iso(run.end, zone),
        "spool": run.spool,
        "hands_on_s": number(run.hands_on_s),
        "alone_s": number(run.alone_s),
        **_second(run, zone),
    }


def _second(run: Run, zone: ZoneInfo) -> Document:
    """Return what a plate takes from a second spool, and when; nothing for most."""
    if run.second_spool is None:
        return {}
    return {
        "second_spool": run.second_spool,
        "second_g": number(run.second_g),
        "change_at": None if run.change_at is None else iso(run.change_at, zone),
    }


def _visit(visit: Visit, zone: ZoneInfo) -> Document:
    return {
        "at": iso(visit.at, zone),
        "until": iso(visit.until, zone),
        "who": visit.who,
        "printer": visit.machine,
        "take_off": visit.take_off,
        "start": visit.start,
        "spool": visit.spool,
        "change_spool": visit.change_spool,
        **({} if visit.second_spool is None else {"second_spool": visit.second_spool}),
        **({} if visit.feeds is None else {"feeds": visit.feeds}),
        "text": errand(visit),
    }


def _spools(spools: Iterable[Spool], left_g: Mapping[str, float]) -> list[Document]:
    return [
        {
            "name": spool.name,
            "filament": spool.filament.name,
            "material": spool.filament.material,
            "colour": spool.colour,
            "before_g": number(spool.left_g),
            "used_g": number(spool.left_g - left_g.get(spool.name, spool.left_g)),
            "left_g": number(left_g.get(spool.name, spool.left_g)),
        }
        for spool in spools
    ]


def _totals(plan: Plan) -> Document:
    totals = plan.totals
    by_material = totals.filament_g_by_material
    return {
        "copies": totals.copies,
        "plates": totals.plates,
        "filament_g": number(totals.filament_g),
        "filament_g_by_material": {name: number(by_material[name]) for name in sorted(by_material)},
        "print_s": number(totals.print_s),
        "print_range_s": _pair(totals.print_range_s),
        "hands_on_s": number(totals.hands_on_s),
        "energy_kwh": number(totals.energy_kwh),
        "currency": plan.job.currency,
        "filament_cost": number(totals.filament_cost, 2),
        "energy_cost": number(totals.energy_cost, 2),
        "wear_cost": number(totals.wear_cost, 2),
        "wear_unknown": list(totals.wear_unknown),
        "cost": number(totals.cost, 2),
    }


def _hours_won(plan: Plan) -> Document | None:
    """Return the plates beside full ones, None where that was not compared."""
    hours, zone = plan.hours, zone_of(plan)
    if hours is None:
        return None
    return {
        "plates": hours.plates,
        "finish": None if hours.finish is None else iso(hours.finish, zone),
        "missing": hours.missing,
        "full_plates": hours.full_plates,
        "full_finish": None if hours.full_finish is None else iso(hours.full_finish, zone),
        "full_missing": hours.full_missing,
        "won_s": None if hours.won_s is None else number(hours.won_s),
    }


def _weekend_odds(plan: Plan) -> Document | None:
    odds, zone = plan.weekend_odds, zone_of(plan)
    if odds is None:
        return None
    return {
        "trials": odds.trials,
        "by_deadline": number(odds.by_deadline, 6),
        "if_none_failed": number(odds.if_none_failed, 6),
        "give_or_take": number(odds.give_or_take(odds.by_deadline), 6),
        "done_by": [
            {"share": share, "at": None if at is None else iso(at, zone)}
            for share, at in odds.done_by
        ],
        "short_of_filament": number(odds.short_of_filament, 6),
        "reprints": number(odds.reprints, 6),
        "risks": [
            {
                "plate": risk.plate,
                "fails": number(risk.fails, 6),
                "late_by_it": number(risk.late_by_it, 6),
            }
            for risk in odds.risks
        ],
    }


def _bounds(plan: Plan) -> Document:
    plates = [
        {
            "group": bound.group,
            "plates": bound.plates,
            "lower_bound": bound.lower_bound,
            "bound_by": bound.bound_by,
        }
        for bound in plan.plate_bounds
    ]
    finish = _finish(plan.weekend, zone_of(plan))
    return {
        "plates": plates,
        "finish": finish["finish"],
        "finish_lower_bound": finish["lower_bound"],
        "finish_bound_by": finish["bound_by"],
    }


def _finish(weekend: WeekendPlan, zone: ZoneInfo) -> Document:
    bound = weekend.lower_bound
    return {
        "finish": None if weekend.finish is None else iso(weekend.finish, zone),
        "lower_bound": None if bound is None else iso(bound, zone),
        "bound_by": weekend.bound_by,
    }


def _sets(weekend: WeekendPlan) -> list[Document]:
    """Return what the job puts a value on: complete in time or not, and why not."""
    return [
        *({"set": name, "complete": True} for name in weekend.sets_done),
        *({"set": name, "complete": False, "reason": why} for name, why in weekend.sets_missed),
    ]


def _unscheduled(weekend: WeekendPlan) -> list[Document]:
    return [{"plate": plate, "why": why} for plate, why in weekend.unscheduled]


def _pair(low_high: tuple[float, float]) -> list[float]:
    return [number(low_high[0]), number(low_high[1])]
