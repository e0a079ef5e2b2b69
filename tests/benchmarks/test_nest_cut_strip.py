"""How few plates, against a strip cut into beds: `spyrrow` as an outside reference.

It packs outer boundaries only, so holes stay empty; keep-outs are not told to it, which is in
its favour.  It runs in a process of its own, with a seed and one worker.
"""

from __future__ import annotations

import json
import subprocess
import sys

import pytest
import shapely

from planner.nest.pack import effort_for, pack
from tests.benchmarks.nest_mixes import MIXES

SECONDS = 10
ONE_BED = [name for name, (_, beds, _, _) in MIXES.items() if len(beds) == 1]


@pytest.mark.benchmark
@pytest.mark.parametrize("name", ONE_BED)
def test_never_more_plates_than_a_strip_cut_into_beds(name, capsys):
    """Both get ten seconds; the strip is as deep as the bed."""
    items, (bed,), clearance_mm, edge_mm = MIXES[name]
    cut = plates_of_strip(items, bed, clearance_mm, edge_mm)
    packing = pack(
        items, [bed], clearance_mm=clearance_mm, edge_mm=edge_mm, effort=effort_for(SECONDS)
    )
    with capsys.disabled():
        print(f"{name}: {len(packing.plates)} plates, the strip cut {cut}")

    assert len(packing.plates) <= cut


def plates_of_strip(items, bed, clearance_mm, edge_mm):
    """Return how many beds the parts of a strip take: each window holds what lies inside it."""
    task = {
        "depth_mm": bed.depth_mm - 2 * edge_mm,
        "clearance_mm": clearance_mm,
        "seconds": SECONDS,
        "items": [
            {"outline": outline_of(item), "quantity": item.quantity, "turns": item.rotations_deg}
            for item in items
        ],
    }
    run = subprocess.run(
        [sys.executable, "-c", CHILD],
        input=json.dumps(task),
        capture_output=True,
        check=True,
        text=True,
    )
    spans = sorted(json.loads(run.stdout))
    assert len(spans) == sum(item.quantity for item in items)
    plates = 0
    while spans:
        begin = spans[0][0]
        spans = [span for span in spans if span[1] > begin + bed.width_mm - 2 * edge_mm + 1e-6]
        plates += 1
    return plates


def outline_of(item):
    """Return the outer boundary, simplified a little: the child dislikes needless points."""
    outline = shapely.Polygon(item.footprint.polygons_mm[0][0]).simplify(0.05)
    return [list(point) for point in outline.exterior.coords]


CHILD = """
import json, sys
import shapely
from shapely import affinity
import spyrrow
task = json.load(sys.stdin)
items = [
    spyrrow.Item(str(n), [tuple(p) for p in item["outline"]], demand=item["quantity"],
                 allowed_orientations=item["turns"])
    for n, item in enumerate(task["items"])
]
instance = spyrrow.StripPackingInstance("mix", strip_height=task["depth_mm"], items=items)
config = spyrrow.StripPackingConfig(
    early_termination=False, total_computation_time=task["seconds"], num_workers=1, seed=1,
    min_items_separation=task["clearance_mm"],
)
spans = []
for placed in instance.solve(config).placed_items:
    shape = shapely.Polygon(task["items"][int(placed.id)]["outline"])
    turned = affinity.rotate(shape, placed.rotation, origin=(0, 0))
    moved = affinity.translate(turned, *placed.translation)
    spans.append((moved.bounds[0], moved.bounds[2]))
print(json.dumps(spans))
"""
