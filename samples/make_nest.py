"""Make the sample for `platewright nest`: `python samples/make_nest.py`.

Writes samples/nest/tool_wall.json: the outlines of the workshop's parts as they stand on the
plate, with the time and filament of one copy. What is asked for besides few plates is invented
for the demo; samples/nest/README.md says what every key does.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from planner.handover.parts import ready_parts
from planner.job.demand import needs
from planner.job.load import load_job
from planner.report.safely import write_text_safely

if TYPE_CHECKING:
    from planner.handover.model import ReadyPart
    from planner.solid.model import Footprint

HERE = Path(__file__).parent
TURNS = {"wrench_cradle": "free", "label_plate": {"every_deg": 15}, "rail": [0, 90]}
HEAD = {"left_mm": 25, "right_mm": 40, "front_mm": 35, "back_mm": 20, "tip_mm": 8, "gantry_mm": 32}
BEDS = [
    {
        "id": "bench",
        "width_mm": 220,
        "depth_mm": 220,
        "keep_out": [
            {"x_mm": [0, 18], "y_mm": [0, 12]},
            {"x_mm": [202, 220], "y_mm": [0, 12]},
            {"outline": [[95, 100], [122, 96], [130, 118], [112, 131], [93, 122]]},
        ],
        "count": 4,
        "height_mm": 250,
    },
    {"id": "cupboard", "width_mm": 300, "depth_mm": 300, "count": 3, "height_mm": 300},
    {
        "id": "window sill",
        "width_mm": 180,
        "depth_mm": 180,
        "count": 4,
        "height_mm": 180,
        "limit_parts": 30,
        "one_by_one": HEAD,
    },
]


def main() -> None:
    """Write the sample anew."""
    job = load_job(HERE / "workshop" / "job.yaml")
    problem = {
        "schema": "platewright/nest/1",
        "clearance_mm": 4,
        "edge_mm": 3,
        "hours_per_plate": 14,
        "placing": "centre",
        "together": [["rail", "screwdriver_rack", "spoke_holder"]],
        "apart": [["bin_large", "hose_cradle"]],
        "pins": [
            {
                "plate": 1,
                "bed": "cupboard",
                "id": "shelf_bracket",
                "x_mm": 10,
                "y_mm": 10,
                "rotation_deg": 0,
            }
        ],
        "beds": BEDS,
        "items": [item(ready) for ready in ready_parts(job, needs(job))],
    }
    path = HERE / "nest" / "tool_wall.json"
    write_text_safely(path, on_short_lines(problem), force=True)


def item(ready: ReadyPart) -> dict[str, Any]:
    """Return a part as the nest file wants it."""
    outer, *holes = rings(ready.posed.footprint)
    turns = {"rotations": TURNS[ready.part.name]} if ready.part.name in TURNS else {}
    slowest = max(time.middle_s for time in ready.times.values())
    return {
        "id": ready.part.name,
        "quantity": ready.need.to_print,
        "height_mm": round(ready.posed.size_mm[2], 2),
        "seconds": round(slowest, -1),
        "grams": round(ready.grams, 1),
        "priority": ready.part.stage,
        **turns,
        "outline": outer,
        "holes": holes,
    }


def rings(footprint: Footprint) -> list[list[list[float]]]:
    """Return the outline and the holes of a footprint in one piece, to a hundredth of a mm."""
    (polygon,) = footprint.polygons_mm
    return [[[round(x, 2) + 0.0, round(y, 2) + 0.0] for x, y in ring] for ring in polygon]


def on_short_lines(problem: dict[str, Any]) -> str:
    """Write JSON with one key to a line, a ring or a small mapping in one."""
    keys = [f"{json.dumps(key)}: {_value(key, value)}" for key, value in problem.items()]
    return "{\n " + ",\n ".join(keys) + "\n}\n"


def _value(key: str, value: Any) -> str:
    if key not in ("items", "beds"):
        return json.dumps(value)
    entries = (
        ",\n   ".join(f"{json.dumps(name)}: {json.dumps(own)}" for name, own in entry.items())
        for entry in value
    )
    return "[\n  {" + "},\n  {".join(entries) + "}\n ]"


if __name__ == "__main__":
    main()
