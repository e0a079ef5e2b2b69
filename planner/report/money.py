"""What the plan costs and what must be bought, in words that every report shares."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.audit.words import listed
from planner.report.words import are, mass, mass_range, plain, thing

if TYPE_CHECKING:
    from planner.handover.model import Plan, PlannedPlate, ShoppingLine, Totals

SPOOL_SIZE = "common practice, no source; new_spool_g in the job file says another"


def money(amount: float, currency: str) -> str:
    """Say an amount to the cent.

    >>> money(3.456, "EUR")
    '3.46 EUR'
    """
    return plain(f"{amount:.2f} {currency}")


def cost_of(plan: Plan, plate: PlannedPlate) -> float | None:
    """Return what a plate costs, None where it was not worked out."""
    return next((cost.cost for cost in plan.costs if cost.plate == plate.id), None)


def cost_words(totals: Totals, currency: str) -> str:
    """Say what it all costs and what that is made of."""
    parts = [
        f"filament {money(totals.filament_cost, currency)}",
        f"electricity {money(totals.energy_cost, currency)}",
        f"wear {money(totals.wear_cost, currency)}" if totals.wear_cost else "",
    ]
    made_of = ", ".join(part for part in parts if part)
    return f"{money(totals.cost, currency)}: {made_of}"


def wear_words(totals: Totals) -> str:
    """Say whose wear is not in the cost; empty if all of it is."""
    unknown = totals.wear_unknown
    if not unknown:
        return ""
    whose = f" of {listed(unknown)}" if totals.wear_cost else ""
    return plain(f"wear{whose} not counted: no wear_per_hour in the job file")


def kind_of(line: ShoppingLine) -> str:
    """Say which filament a line is about: "petg, black"."""
    return plain(f"{line.material}, {line.colour or 'any colour'}")


def to_buy(line: ShoppingLine) -> str:
    """Say how many spools: "1 spool of 1000 g"; or that it is enough."""
    if not line.spools:
        return "nothing"
    return f"{thing(line.spools, 'spool')} of {line.spool_g:g} g"


def shopping_remarks(line: ShoppingLine) -> list[str]:
    """Say what the numbers of a line do not."""
    said = []
    if line.without_spool and not line.short_g:
        plates = listed(line.without_spool)
        said.append(
            f"{kind_of(line)}: {mass(line.shelf_g)} would do in sum, but {plates} "
            f"{are(len(line.without_spool))} left without a spool that has enough"
        )
    elif line.without_spool:
        said.append(f"{kind_of(line)}: needed for {listed(line.without_spool)}")
    if line.may_lack_g >= 1:
        said.append(
            f"{kind_of(line)}: {mass_range(line.need_range_g)} may be needed, "
            f"so {mass(line.may_lack_g)} could be missing"
        )
    return [plain(each) for each in said]


def shopping_note(plan: Plan) -> str:
    """Say what is in the needed grams, and how large a spool to buy is taken to be."""
    note = "Needed: all copies with spares and brims; purging and failed plates are not counted."
    if plan.left_out:
        note += " Nor are copies on no plate."
    if any(line.spools for line in plan.shopping):
        size = plan.job.new_spool_g
        note += f" A new spool is taken to hold {size:g} g ({SPOOL_SIZE})."
    return note


def shopping_sum(plan: Plan) -> str:
    """Say what all the spools to buy cost; empty if there are none."""
    if not any(line.spools for line in plan.shopping):
        return ""
    return money(sum(line.cost for line in plan.shopping), plan.job.currency)
