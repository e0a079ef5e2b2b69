"""A packing by itself: drawings to scale, their folder, and the verdict in words."""

from __future__ import annotations

import io
import json
import re
from dataclasses import replace
from xml.etree import ElementTree as ET

import numpy as np
import pytest
import shapely
from rich.console import Console
from shapely import affinity

from planner.errors import InputError
from planner.nest.model import Bed, Item, NestProblem, PackedPlate, Packing, Placement
from planner.report.packing import draw_packed, print_packing, render_packing, write_packing
from planner.settings.model import Patch, Rectangle
from planner.solid.model import Footprint

SVG = "{http://www.w3.org/2000/svg}"
ELL = np.array([[0.0, 0.0], [40, 0], [40, 12], [12, 12], [12, 40], [0, 40]])
BAR = np.array([[5.0, -3.0], [45, -3], [45, 7], [5, 7]])


def item(name, ring, **more):
    return Item(id=name, footprint=Footprint(polygons_mm=((ring,),)), quantity=2, **more)


BED = Bed(
    id="bench <1>",
    width_mm=150.0,
    depth_mm=120.0,
    keep_out=(Rectangle(x_min_mm=0, y_min_mm=0, x_max_mm=20, y_max_mm=15),),
    keep_out_patches=(Patch(points_mm=((90.0, 80.0), (120.0, 85.0), (100.0, 110.0))),),
)
PROBLEM = NestProblem(
    items=(item("ell & co", ELL, seconds=3600.0, grams=12.0), item("bar", BAR)),
    beds=(BED,),
    clearance_mm=4.0,
    edge_mm=3.0,
)
PLATE = PackedPlate(
    bed="bench <1>",
    placements=(
        Placement(id="bar", x_mm=30.0, y_mm=60.0, rotation_deg=90.0, order=2),
        Placement(id="ell & co", x_mm=60.5, y_mm=20.25, rotation_deg=33.0, order=1),
    ),
    fill=0.1,
)
PACKING = Packing(plates=(PLATE,), unplaced=(), lower_bound=1, bound_by="area")


def test_copies_keep_outs_and_the_bed_are_drawn_to_scale():
    """Validation against shapely: one unit is one millimetre, the front is at the bottom."""
    root = ET.fromstring(draw_packed(PLATE, 1, PROBLEM))

    bed = next(r for r in root.iter(f"{SVG}rect") if r.get("class") == "bed")
    assert (float(bed.get("width")), float(bed.get("height"))) == (150.0, 120.0)
    paths = {path.get("id"): path.get("d") for path in root.iter(f"{SVG}path")}
    for use, place in zip(root.iter(f"{SVG}use"), PLATE.placements, strict=True):
        points = re.findall(r"(-?[\d.]+) (-?[\d.]+)", paths[use.get("href")[1:]])
        ring = np.array(points, dtype=float)
        a, b, c, d, e, f = map(float, use.get("transform")[7:-1].split())
        drawn = ring @ np.array([[a, b], [c, d]]) + np.array([e, f])
        drawn[:, 1] = 120.0 - drawn[:, 1]
        own = next(i for i in PROBLEM.items if i.id == place.id).footprint.polygons_mm[0][0]
        turned = affinity.rotate(shapely.Polygon(own), place.rotation_deg, origin=(0, 0))
        expected = affinity.translate(turned, place.x_mm, place.y_mm)
        assert shapely.Polygon(drawn).symmetric_difference(expected).area < 0.5  # 0.01 mm rounding
        assert use.find(f"{SVG}title").text == place.id
    patch = next(root.iter(f"{SVG}polygon"))
    assert patch.get("points") == "90,40 120,35 100,10"
    keep = [r for r in root.iter(f"{SVG}rect") if r.get("class") == "forbidden"]
    assert [(r.get("x"), r.get("y")) for r in keep] == [("0", "105")]


def test_names_and_the_order_of_printing_are_written():
    """Numbers on the parts, names under the bed; both light and dark."""
    svg = draw_packed(PLATE, 1, PROBLEM)
    texts = [text.text for text in ET.fromstring(svg).iter(f"{SVG}text")]

    assert "2 (2)" in texts
    assert "1 (1)" in texts
    assert "1: 1 ell & co, 2: 1 bar" in texts
    assert "plate 1, bench <1>, 10 % full" in texts
    assert any("in brackets" in text for text in texts)
    assert "prefers-color-scheme:dark" in svg


def test_without_an_order_none_is_written():
    """Plates that are printed layer by layer have numbers of parts only."""
    plain = replace(
        PLATE, placements=tuple(replace(place, order=None) for place in PLATE.placements)
    )
    texts = [text.text for text in ET.fromstring(draw_packed(plain, 1, PROBLEM)).iter(f"{SVG}text")]

    assert "2" in texts
    assert not any("(" in text for text in texts)


def test_a_folder_gets_the_answer_and_a_drawing_per_plate(tmp_path):
    """Written again, it loses drawings of plates that are gone and keeps what is not ours."""
    many = replace(PACKING, plates=(PLATE,) * 11)
    first = write_packing(many, PROBLEM, tmp_path, force=False)
    assert len(first) == 12
    assert (tmp_path / "plates" / "plate-01.svg").is_file()
    (tmp_path / "plates" / "mine.svg").write_text("mine")

    write_packing(PACKING, PROBLEM, tmp_path, force=False)

    names = sorted(path.name for path in (tmp_path / "plates").iterdir())
    assert names == ["mine.svg", "plate-1.svg"]
    assert json.loads((tmp_path / "nest.json").read_text())["proven"] is True
    (tmp_path / "nest.json").write_text("edited")
    with pytest.raises(InputError, match="--force"):
        write_packing(PACKING, PROBLEM, tmp_path, force=False)
    assert (tmp_path / "nest.json").read_text() == "edited"


def test_the_same_packing_gives_the_same_bytes():
    """Nothing of the day or the run is in it."""
    assert render_packing(PACKING, PROBLEM) == render_packing(PACKING, PROBLEM)


def said(packing, problem=PROBLEM):
    console = Console(file=io.StringIO(), width=90)
    print_packing(console, packing, problem)
    return " ".join(console.file.getvalue().split())


def test_the_verdict_says_proven_or_the_gap():
    """And hours and mass only where the items have them."""
    assert "1 plate, proven fewest (area)." in said(PACKING)
    two = replace(PACKING, plates=(PLATE, PLATE))
    assert "2 plates; no packing needs fewer than 1 (area), so at most 1 too many." in said(two)
    assert "1:00" in said(PACKING)
    assert "12 g" in said(PACKING)
    bare = replace(PROBLEM, items=tuple(replace(i, seconds=0, grams=0) for i in PROBLEM.items))
    assert "Hours" not in said(PACKING, bare)
    assert "Mass" not in said(PACKING, None)
    none = replace(PACKING, plates=(), unplaced=(("bar", 2, "too long"),), lower_bound=0)
    assert "2 copies of bar on no plate: too long" in said(none)
