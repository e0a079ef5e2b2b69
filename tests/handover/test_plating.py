"""What a job asks of its plates, from the job to plates: turns, brim, groups, limits, heads."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.errors import InputError
from planner.handover.beds import Roster, bare_bed
from planner.handover.groups import bed_key, group_parts
from planner.handover.items import item_of, on_plate
from planner.handover.plates import Recipe, make_plates
from planner.handover.seconds import seconds_on_machines
from planner.handover.share import fits
from planner.job.model import PartPin, Plating
from planner.layers import support as supports
from planner.nest.model import PackedPlate, Packing, Placement
from planner.nest.verify import verify
from planner.settings.model import Head, Patch
from planner.settings.turns import Turns
from planner.solid.cut import cut
from planner.solid.footprint import as_footprint
from planner.solid.model import Solid
from planner.solid.pose import pose

HEAD = Head(left_mm=20, right_mm=30, front_mm=25, back_mm=25, tip_mm=4, gantry_mm=40)


def boxes(*sides):
    """Return a solid of boxes ((x, y, z), (x, y, z)) that stand on each other, as read."""
    import manifold3d as m3

    whole = m3.Manifold()
    for low, high in sides:
        size = [b - a for a, b in zip(low, high, strict=True)]
        whole += m3.Manifold.cube(size).translate(low)
    mesh = whole.to_mesh()
    return Solid(
        name="made",
        vertices_mm=np.asarray(mesh.vert_properties[:, :3], dtype=np.float64),
        triangles=np.asarray(mesh.tri_verts, dtype=np.int32),
        closed=True,
        volume_mm3=whole.volume(),
        repairs=(),
        invented=0.0,
        digest=repr(sides),
    )


TABLE = boxes(((15, 15, 0), (25, 25, 20)), ((0, 0, 20), (40, 40, 24)))
"""A plate of 40 x 40 mm on a foot of 10 x 10 mm in its middle."""


def shape(footprint):
    return shapely.union_all([shapely.Polygon(o, h) for o, *h in footprint.polygons_mm])


def test_a_brim_lies_around_the_foot_and_not_around_what_overhangs(job):
    """A foot of 10 mm with 4 mm of brim hides under a top of 40 mm; 20 mm stand out."""
    own = replace(job.parts["panel"].settings, support=False)
    posed = pose(TABLE)

    hidden = on_plate(posed, replace(own, brim_mm=4.0))
    wide = on_plate(posed, replace(own, brim_mm=20.0))

    assert shape(hidden).equals(shape(posed.footprint))
    assert shape(wide).bounds == pytest.approx((-5, -5, 45, 45), abs=0.02)
    assert shape(wide).covers(shapely.box(0, 0, 40, 40))


def test_the_outline_holds_support_and_the_brim_around_it(job):
    """Every column of support of every layer, grown by the brim, is inside."""
    own = replace(job.parts["panel"].settings, support=True, brim_mm=5.0, overhang_deg=45.0)
    posed = pose(TABLE)
    regions = cut(posed, np.array([10.0, 22.0]))
    columns = supports.columns(regions, [0, 1], step_mm=0.2)

    outline = shape(on_plate(posed, own))

    held = shape(as_footprint(columns[0]))
    assert held.area > 1400  # 40 x 40 less the foot, less one step around it
    assert outline.buffer(1e-6).covers(held.buffer(5.0, quad_segs=32))
    assert outline.buffer(1e-6).covers(shape(posed.footprint).buffer(5.0, quad_segs=32))


@given(st.floats(0.1, 10.0), st.floats(5.0, 60.0))
@settings(max_examples=20, deadline=None, suppress_health_check=list(HealthCheck))
def test_a_brim_keeps_the_frame(job, margin, side):
    """A block grows by the brim on every side of where it stood; nothing is moved."""
    own = replace(job.parts["panel"].settings, brim_mm=margin, support=False)

    outline = shape(on_plate(pose(boxes(((0, 0, 0), (side, side, 5)))), own))

    assert outline.bounds == pytest.approx((-margin, -margin, side + margin, side + margin))


def test_a_brim_leaves_holes_free(job):
    """Validation by closed form: a frame of 40 mm with a hole of 20 mm and 5 mm of brim."""
    frame = boxes(
        ((0, 0, 0), (40, 10, 5)),
        ((0, 30, 0), (40, 40, 5)),
        ((0, 10, 0), (10, 30, 5)),
        ((30, 10, 0), (40, 30, 5)),
    )
    own = replace(job.parts["panel"].settings, brim_mm=5.0, support=False)

    outline = shape(on_plate(pose(frame), own))

    exact = 40 * 40 + 4 * 40 * 5 + math.pi * 25 - 20 * 20
    assert outline.area == pytest.approx(exact, rel=2e-3)  # round corners are drawn from outside
    assert outline.area >= exact - 1e-6


def test_a_part_on_the_plate_as_items_has_its_turns(job, parts):
    """Quarter turns unless the job says otherwise; free turns try level long edges as well."""
    ready = parts[0]
    free = replace(ready, part=replace(ready.part, turns=Turns(free=True)))
    fixed = replace(ready, part=replace(ready.part, turns=Turns(angles_deg=(0.0, 45.0))))

    assert item_of(ready, quantity=1, seconds=0).rotations_deg == (0.0, 90.0, 180.0, 270.0)
    assert item_of(fixed, quantity=1, seconds=0).rotations_deg == (0.0, 45.0)
    assert item_of(free, quantity=1, seconds=0).free_turns


def test_whether_a_part_fits_depends_on_its_turns(job, parts):
    """A rail of 154 mm on a bed of 140 x 140 mm lies along the diagonal only."""
    rail = next(ready for ready in parts if ready.part.name == "rail")
    group = next(g for g in group_parts(job, parts) if rail in g.parts)
    printer = replace(group.machines[0].printer, bed_width_mm=150.0, bed_depth_mm=150.0)
    roster = Roster(printer=printer, capacity_s=1e6, limit_s=1e6)
    turned = replace(rail, part=replace(rail.part, turns=Turns(free=True)))

    assert not fits(job, rail, roster)
    assert fits(job, turned, roster)


def plates_of(job, parts, **plating):
    asked = replace(job, plating=Plating(**plating))
    return make_plates(asked, parts, seconds=0.1)


def named(parts, *names):
    return [ready for ready in parts if ready.part.name in names]


@pytest.mark.parametrize("hours", [3.0, 4.0])
def test_no_plate_is_longer_or_fuller_than_the_job_says(job, parts, hours):
    """Heating and cooling included, and the long ways on a large bed: one failure costs all."""
    some = named(parts, "panel", "key", "standoff", "rail")

    made = plates_of(job, some, seconds_max=hours * 3600.0, parts_max=9.0)

    assert made.left_out == ()
    for plate in made.plates:
        own = [m.name for m in job.machines if m.printer == plate.printer]
        assert all(plate.seconds[name] <= hours * 3600.0 for name in own)
        assert len(plate.placements) <= 9
    batch = [bound for bound in made.bounds if bound.group.startswith("batch")]
    assert all(bound.lower_bound <= bound.plates for bound in batch)


def test_parts_together_share_one_plate_of_the_batch(job, parts):
    """Labels and trims of one colour; without the wish they are spread over printers."""
    some = named(parts, "trim_corner", "bin_small", "label_plate")

    made = plates_of(job, some, together=(("trim_corner", "bin_small"),))

    homes = {
        name: [plate.id for plate in made.plates if plate.kind == "batch" and name in plate.counts]
        for name in ("trim_corner", "bin_small")
    }
    assert homes["trim_corner"] == homes["bin_small"]
    assert len(homes["trim_corner"]) == 1
    laid = sum((Counter(plate.counts) for plate in made.plates), Counter())
    assert laid == Counter({r.part.name: r.need.to_print for r in some})


def test_parts_apart_share_no_plate(job, parts):
    """Whatever the printer."""
    some = named(parts, "trim_corner", "bin_small", "label_plate")

    made = plates_of(job, some, apart=(("trim_corner", "bin_small"),))

    assert all(
        not {"trim_corner", "bin_small"} <= set(plate.counts)
        for plate in made.plates
        if plate.kind == "batch"
    )


def test_parts_that_cannot_be_printed_together_may_not_be_asked_to(job, parts):
    """Different materials: said with the group, in one line."""
    with pytest.raises(InputError, match=r"together\[0\].*panel \(pla grey.*hook_double \(petg"):
        plates_of(job, named(parts, "panel", "hook_double"), together=(("panel", "hook_double"),))


def one_by_one(job):
    machines = tuple(
        replace(
            m,
            printer=replace(
                m.printer, name=f"{m.printer.name} in turn", head=HEAD, one_by_one=True
            ),
        )
        for m in job.machines
    )
    return replace(job, machines=machines)


def test_a_printer_that_prints_one_by_one_gets_plates_in_order(job, parts):
    """The layout stands the exact check of the head, and each part takes its own time."""
    turned = one_by_one(job)
    names = {m.printer.name: m.printer for m in turned.machines}
    some = [
        replace(r, times={f"{name} in turn": time for name, time in r.times.items()})
        for r in named(parts, "standoff", "key")
    ]
    by_name = {r.part.name: r for r in some}

    made = make_plates(turned, some, seconds=0.1)

    batch = [plate for plate in made.plates if plate.kind == "batch"]
    assert batch
    for plate in batch:
        orders = [place.order for place in plate.placements]
        assert orders == list(range(1, len(orders) + 1))
        packed = PackedPlate(bed="bed", placements=plate.placements, fill=plate.fill)
        items = [
            item_of(by_name[name], quantity=count, seconds=0)
            for name, count in plate.counts.items()
        ]
        packing = Packing(plates=(packed,), unplaced=(), lower_bound=0, bound_by="")
        bed = bare_bed("bed", names[plate.printer.name])
        assert verify(packing, items, [bed], job.clearance_mm, job.edge_mm) == ()
        alone = sum(
            by_name[name].times[plate.printer.name].middle_s * count
            for name, count in plate.counts.items()
        )
        assert all(seconds > alone for seconds in plate.seconds.values())


def test_a_plate_of_parts_one_by_one_runs_on_no_printer_that_prints_them_together(job, parts):
    """Though its bed would hold it."""
    group = group_parts(job, parts)[0]
    ready, machine = group.parts[0], group.machines[0]
    turned = replace(machine.printer, head=HEAD, one_by_one=True, name="in turn")
    own = replace(machine, printer=turned, name="turned")
    both = replace(group, machines=(own, machine))
    ready = replace(ready, times={**ready.times, "in turn": ready.times[machine.printer.name]})
    place = Placement(id=ready.part.name, x_mm=60.0, y_mm=60.0, rotation_deg=0.0, order=1)
    packed = PackedPlate(bed=bed_key(turned), placements=(place,), fill=0.1)

    assert set(seconds_on_machines(job, both, turned, packed, [(ready, 1)])) == {"turned"}


def pins_of(plates, job, most):
    """Pin the first few copies of every plate of the batch where they lie."""
    machines = {m.printer.name: m.name for m in job.machines}
    batch = [plate for plate in plates if plate.kind == "batch"]
    return tuple(
        PartPin(
            plate=number,
            machine=machines[plate.printer.name],
            part=place.id,
            x_mm=place.x_mm,
            y_mm=place.y_mm,
            rotation_deg=place.rotation_deg,
        )
        for number, plate in enumerate(batch, start=1)
        for place in plate.placements[:most]
    )


@pytest.mark.parametrize("cap_h", [math.inf, 1.0])
def test_pinned_copies_stay_where_a_person_laid_them(job, parts, cap_h):
    """Whatever lengths of plates are tried; the rest is packed around them, none is lost."""
    some = named(parts, "trim_corner", "bin_small", "label_plate")
    pins = pins_of(plates_of(job, some).plates, job, 2)
    asked = replace(job, plating=Plating(pins=pins, placing="spread"))

    made = make_plates(asked, some, recipe=Recipe(cap_s=cap_h * 3600.0), seconds=0.1)

    for number in sorted({pin.plate for pin in pins}):
        own = [pin for pin in pins if pin.plate == number]
        wanted = {(pin.part, pin.x_mm, pin.y_mm, pin.rotation_deg) for pin in own}
        homes = [
            plate
            for plate in made.plates
            if wanted <= {(p.id, p.x_mm, p.y_mm, p.rotation_deg) for p in plate.placements}
        ]
        assert homes
    laid = sum((Counter(plate.counts) for plate in made.plates), Counter())
    assert laid == Counter({r.part.name: r.need.to_print for r in some})


def test_a_plate_with_a_pin_runs_on_the_bed_that_the_person_chose(job, parts):
    """Though it would fit, as it lies, on the other beds; a plate without pins may go there."""
    pin = PartPin(
        plate=1, machine="cupboard", part="bin_small", x_mm=40.0, y_mm=40.0, rotation_deg=0.0
    )
    some = named(parts, "bin_small")

    made = plates_of(job, some, pins=(pin,), parts_max=1.0).plates

    homes = {
        tuple(plate.seconds)
        for plate in made
        for place in plate.placements
        if (place.x_mm, place.y_mm) == (pin.x_mm, pin.y_mm)
    }
    assert homes == {("cupboard",)}
    assert any(len(plate.seconds) > 1 for plate in made)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"x_mm": 1.0}, r"pins\[0\].*bin_small is 1.000000 mm from the edge"),
        ({"rotation_deg": 12.0}, r"pins\[0\].*turned by 12 degrees"),
        ({"part": "hook_long"}, r"pins\[0\].*hook_long, of which no copy is to be printed"),
    ],
)
def test_a_pin_of_a_job_that_breaks_a_rule_is_named(job, parts, changes, words):
    """One clear sentence, from the job's file."""
    pin = PartPin(
        plate=1, machine="cupboard", part="bin_small", x_mm=20.0, y_mm=20.0, rotation_deg=0.0
    )
    some = named(parts, "bin_small")
    plates_of(job, some, pins=(pin,))

    with pytest.raises(InputError, match=words):
        plates_of(job, some, pins=(replace(pin, **changes),))


def test_pins_that_cannot_share_their_plate_are_named(job, parts):
    """Parts of two materials with one plate number."""
    one = PartPin(
        plate=1, machine="cupboard", part="bin_small", x_mm=20.0, y_mm=20.0, rotation_deg=0.0
    )
    other = replace(one, part="hook_double", x_mm=150.0)

    with pytest.raises(InputError, match=r"pins\[1\].*hook_double on a plate that others need"):
        plates_of(job, named(parts, "bin_small", "hook_double"), pins=(one, other))


def test_a_worn_patch_in_the_middle_sends_a_part_to_another_bed(job, parts):
    """A panel of 100 mm finds no place beside a patch in the middle of 220 mm."""
    panel = next(ready for ready in parts if ready.part.name == "panel")
    group = next(g for g in group_parts(job, parts) if panel in g.parts)
    bench = next(m.printer for m in group.machines if m.printer.bed_width_mm == 220.0)
    patch = Patch(points_mm=((95.0, 95.0), (125.0, 95.0), (125.0, 125.0), (95.0, 125.0)))
    whole = Roster(printer=bench, capacity_s=1e6, limit_s=1e6)
    worn = replace(whole, printer=replace(bench, keep_out_patches=(patch,)))

    assert fits(job, panel, whole)
    assert not fits(job, panel, worn)
