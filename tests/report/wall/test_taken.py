"""What walls take, as JSON and on a terminal."""

from __future__ import annotations

import io

from rich.console import Console

from planner.handover.quick.model import PartEstimate, QuickEstimate
from planner.handover.quick.taken import Taken
from planner.handover.quick.variants import Variant
from planner.report.wall.taken import print_taken, taken_entries
from planner.wall.order.model import Kit, Order

KIT = Kit(number=1, name="course 1", wall="north", cells=((1, 1),), parts=(("panel", 1),), screws=4)
ORDER = Order(kits=(KIT,), cells=(("north", ((1, 1),)),))
PART = PartEstimate(
    part="panel",
    copies=2,
    material="pla",
    colour=None,
    grams=60.0,
    grams_range=(58.0, 63.0),
    print_s=7200.0,
    print_range_s=(7000.0, 8000.0),
    per_plate=4,
    cost=2.0,
    cost_range=(1.9, 2.2),
)


def estimate(grams: float) -> QuickEstimate:
    """Return an estimate of one part."""
    return QuickEstimate(
        parts=(PART,),
        filament_g=grams,
        filament_range_g=(grams - 2, grams + 3),
        filament_g_by_material={"pla": grams},
        print_s=7200.0,
        print_range_s=(7000.0, 8000.0),
        plates=(1, 2, 3),
        cost=2.0,
        cost_range=(1.9, 2.2),
        currency="EUR",
        reasons=("a reason",),
        not_counted=("slab",),
    )


TAKEN = Taken(
    order=ORDER,
    estimate=estimate(60.0),
    variants=(
        Variant(name="wider", estimate=estimate(75.0)),
        Variant(name="coarser", estimate=None, why_not="no nozzle"),
    ),
)


def printed(taken: Taken) -> str:
    """Return what a terminal of 100 columns shows."""
    out = io.StringIO()
    print_taken(Console(file=out, width=100), taken)
    return out.getvalue()


def test_json_has_the_contract_s_keys():
    """filament_g, filament_by_material, time_s, plates and cost, with their ranges."""
    told = taken_entries(TAKEN)

    assert told["filament_g"] == 60.0
    assert told["filament_by_material"] == {"pla": 60.0}
    assert (told["time_s"], told["plates"], told["plates_range"]) == (7200.0, 2, [1, 3])
    assert told["cost_range"] == [1.9, 2.2]
    assert told["variants"][1] == {"change": "coarser", "why_not": "no nozzle"}
    assert told["kits"][0]["parts"] == {"panel": 1}


def test_without_a_job_the_figures_are_null_with_a_reason():
    """A wall file alone says what is needed for more."""
    told = taken_entries(Taken(order=ORDER))

    assert told["filament_g"] is None
    assert "job file" in told["not_worked_out"]
    assert "Not worked out" in printed(Taken(order=ORDER))


def test_terminal_tells_differences_and_what_is_not_counted():
    """A change is told by what it adds, with its sign."""
    text = printed(TAKEN)

    assert "+15 g" in text
    assert "no nozzle" in text
    assert "slab is not counted" in text
    assert "1 panel, 4 screws" in text
    assert "about 2 (1 at least, 3 are enough)" in text
