"""A part's shape, loads and printers: each rule on both sides of its bound."""

from dataclasses import replace
from math import atan, degrees, hypot, radians, sqrt, tan
from pathlib import Path
from types import MappingProxyType

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial import ConvexHull

from planner.audit import audit_part
from planner.audit.excuse import FACTS
from planner.audit.patches import patches
from planner.audit.rules.direction import axis_name
from planner.audit.rules.room import clear_of_keep_outs, fits, quarter_turned
from planner.settings.model import Level, Rectangle
from planner.solid.model import Repair
from planner.solid.pose import overhang_mm2

STOP, WARN, NOTE = Level.STOP, Level.WARN, Level.NOTE


def audit(build, part=None, **changes):
    """Audit a sound part with some of the surroundings changed."""
    values = {
        "posed": build.posed(),
        "layering": build.layering(),
        "filament": build.filament(),
        "guideline": build.guideline(),
        "machines": (build.machine(),),
    }
    return audit_part(part or build.part(), **(values | changes))


def told(findings):
    """Return (rule, level) of every finding."""
    return [(finding.rule, finding.level) for finding in findings]


def test_a_sound_part_has_no_findings(build):
    """The zero of all tests below."""
    assert audit(build) == ()


class TestRoom:
    """The bed is 220 x 200 mm, 250 mm high."""

    @pytest.mark.parametrize(
        ("size", "edge_mm", "fit"),
        [
            ((220, 200, 250), 0, True),
            ((200, 220, 250), 0, True),
            ((221, 10, 10), 0, False),
            ((201, 201, 10), 0, False),
            ((10, 10, 250.1), 0, False),
            ((214, 194, 10), 3, True),
            ((194, 214, 10), 3, True),
            ((214.1, 10, 10), 3, False),
        ],
    )
    def test_a_box_fits_at_either_quarter_turn(self, build, size, edge_mm, fit):
        """Exactly the bed's size still fits; the margin is taken off both edges."""
        assert fits(build.printer(), size, edge_mm) is fit
        findings = audit(build, posed=build.posed(size), edge_mm=edge_mm)
        assert (("bed fit", STOP) in told(findings)) is not fit

    def test_a_part_too_long_lying_is_told_the_way_up_that_fits(self, build):
        """240 mm is too long for the bed but not for the height."""
        findings = audit(build, posed=build.posed((240, 40, 20)))

        fit = next(finding for finding in findings if finding.rule == "bed fit")
        assert fit.found == "240 x 40 x 20 mm as it stands"
        assert fit.remedy == "set up: +x (40 x 20 x 240 mm), which fits bench"

    def test_a_part_may_fit_in_another_turn_than_a_quarter(self, build):
        """A bar of 240 x 20 mm, by 45 degrees, takes up (240 + 20) / sqrt(2) each way."""
        side = 260 / 2**0.5
        diagonal = ((240.0, 20.0, 10.0), (side, side, 10.0))

        assert audit(build, posed=build.posed((240, 20, 10)), sizes_mm=diagonal) == ()

    def test_a_part_that_may_not_turn_is_told_to(self, build):
        """220 x 200 mm of bed: 210 mm are too deep, and would do as the width."""
        size = (40, 210, 20)
        findings = audit(build, posed=build.posed(size), sizes_mm=(size,))

        assert told(findings) == [("bed fit", STOP), ("printers", STOP)]
        assert findings[0].why.endswith("in no turn that it may have")
        assert "quarter turns" in findings[0].remedy

    def test_a_part_that_fits_no_way_is_to_be_divided(self, build):
        """No axis helps a cube of 300 mm."""
        findings = audit(build, posed=build.posed((300, 300, 300)))

        assert "divide the part" in findings[0].remedy
        assert told(findings) == [("bed fit", STOP), ("printers", STOP)]

    def test_it_is_enough_that_one_machine_has_the_room(self, build):
        """The others are named in a note."""
        big = build.machine("big", bed_width_mm=300, bed_depth_mm=300)
        small = build.machine("small")
        (finding,) = audit(build, posed=build.posed((280, 40, 20)), machines=(small, big))

        assert (finding.rule, finding.level) == ("printers", NOTE)
        assert finding.found == (
            "can be made on big; not on small (its room is 220 x 200 x 250 mm)"
        )

    @pytest.mark.parametrize(
        ("keep_out", "clear"),
        [
            ((0, 0, 40, 200), True),
            ((0, 0, 41, 200), False),
            ((90, 90, 100, 100), False),
            ((0, 0, 220, 20), True),
            ((0, 0, 220, 21), False),
        ],
    )
    def test_a_box_must_clear_the_keep_outs(self, build, keep_out, clear):
        """A box of 180 x 200 mm, turned or not: 40 mm to spare on the width, 20 on the depth."""
        spot = Rectangle(
            x_min_mm=keep_out[0],
            y_min_mm=keep_out[1],
            x_max_mm=keep_out[2],
            y_max_mm=keep_out[3],
        )
        guarded = build.machine(keep_out=(spot,))
        findings = audit(build, posed=build.posed((180, 200, 20)), machines=(guarded,))

        assert told(findings) == ([] if clear else [("keep-out", WARN)])


@given(
    spots=st.lists(st.tuples(*[st.integers(0, 9)] * 4), max_size=4),
    size=st.tuples(st.integers(1, 10), st.integers(1, 10)),
    edge=st.integers(0, 2),
)
def test_keep_outs_agree_with_trying_every_place(build, spots, size, edge):
    """With whole numbers it is enough to try every whole place of a 10 x 8 bed."""
    keep_out = tuple(
        Rectangle(x_min_mm=x, y_min_mm=y, x_max_mm=x + 1 + wide % 4, y_max_mm=y + 1 + deep % 4)
        for x, y, wide, deep in spots
    )
    small = build.printer(bed_width_mm=10, bed_depth_mm=8, keep_out=keep_out)

    taken = np.ones((10, 8), dtype=bool)
    taken[edge : 10 - edge, edge : 8 - edge] = False
    for spot in keep_out:
        taken[spot.x_min_mm : spot.x_max_mm, spot.y_min_mm : spot.y_max_mm] = True
    expected = any(
        not taken[x : x + wide, y : y + deep].any()
        for wide, deep in (size, size[::-1])
        for x in range(10 - wide + 1)
        for y in range(8 - deep + 1)
    )
    assert clear_of_keep_outs(small, quarter_turned((*size, 1)), edge) is expected


class TestPrinters:
    """Whether a machine can do what the settings ask."""

    @pytest.mark.parametrize(
        ("machine", "settings", "filament", "words"),
        [
            ({"nozzle_mm": 0.6}, {}, {}, "nozzle is 0.6 mm"),
            ({"nozzle_c_max": 204}, {}, {}, "nozzle reaches 204 °C"),
            ({"bed_c_max": 54}, {}, {}, "bed reaches 54 °C"),
            ({"materials": ("petg",)}, {}, {}, "set up for petg"),
            ({}, {}, {"needs_enclosure": True}, "enclosed"),
            ({"height_mm": 19}, {}, {}, "room is 220 x 200 x 19 mm"),
        ],
    )
    def test_no_machine_that_can_do_it_is_a_stop(self, build, machine, settings, filament, words):
        """The finding names each machine and what hinders it."""
        findings = audit(
            build,
            build.part(settings=build.settings(**settings)),
            filament=build.filament(**filament),
            machines=(build.machine(**machine),),
        )

        (finding,) = [each for each in findings if each.rule == "printers"]
        assert finding.level is STOP
        assert finding.found.startswith("bench (")
        assert words in finding.found

    @pytest.mark.parametrize(
        "machine",
        [
            {"nozzle_c_max": 205},
            {"bed_c_max": 55},
            {"materials": ("petg", "pla")},
            {"height_mm": 20},
        ],
    )
    def test_a_machine_that_just_can_is_enough(self, build, machine):
        """Every limit may be reached."""
        assert audit(build, machines=(build.machine(**machine),)) == ()

    def test_a_job_without_printers_is_a_stop(self, build):
        """Nothing can be made on nothing."""
        assert told(audit(build, machines=())) == [("printers", STOP)]

    def test_only_machines_that_can_make_it_are_asked_for_their_flow(self, build):
        """A slow hot end on a machine with the wrong nozzle does not matter."""
        slow = build.machine("slow", nozzle_mm=0.6, flow_max_mm3_s=2)
        findings = audit(build, machines=(slow, build.machine()))
        assert told(findings) == [("printers", NOTE)]

        slow = build.machine("slow", flow_max_mm3_s=2)
        findings = audit(build, machines=(slow, build.machine()))
        assert told(findings) == [("flow", WARN)]


class TestStanding:
    """Contact with the bed, and tilting over."""

    @pytest.mark.parametrize(
        ("contact_mm2", "height", "changes", "expected"),
        [
            (100, 80, {}, []),
            (100, 80.1, {}, [("contact", WARN)]),
            (99.9, 80, {}, [("contact", WARN)]),
            (100, 200, {"brim_mm": 5}, []),
            (100, 200, {"brim_mm": 4.9}, [("contact", WARN)]),
            (1.0, 8, {}, []),
            (0.99, 5, {}, [("contact", STOP)]),
            (0.99, 5, {"brim_mm": 5}, [("contact", STOP)]),
            (0.0, 5, {"support": True}, [("contact", WARN)]),
        ],
    )
    def test_height_over_the_foot(self, build, contact_mm2, height, changes, expected):
        """Eight sides of an equal square; a point or edge is no foot at all."""
        findings = audit(
            build,
            build.part(settings=build.settings(**changes)),
            posed=build.posed((60, 40, height), contact_mm2=contact_mm2, ceilings=[(5, 5, 4, 4)]),
        )

        assert [pair for pair in told(findings) if pair[0] != "overhang"] == expected

    @pytest.mark.parametrize(
        ("tip_deg", "brim_mm", "expected"),
        [
            (10, 0, []),
            (9.9, 0, [("tip over", WARN)]),
            (0, 4.9, [("tip over", WARN)]),
            (0, 5, []),
        ],
    )
    def test_tilt(self, build, tip_deg, brim_mm, expected):
        """Ten degrees, or a brim to hold it."""
        findings = audit(
            build,
            build.part(settings=build.settings(brim_mm=brim_mm)),
            posed=build.posed(tip_deg=tip_deg),
        )

        assert told(findings) == expected

    def test_the_remedies_of_a_slender_part_are_the_brim_they_ask_for(self, build):
        """A user who does what the remedy says hears no more of it."""
        posed = build.posed((60, 40, 200), contact_mm2=100, tip_deg=2)
        findings = audit(build, posed=posed)
        assert all(f.remedy.startswith("set brim_mm: 5 under") for f in findings)
        assert len(findings) == 2

        part = build.part(settings=build.settings(brim_mm=5))
        assert audit(build, part, posed=posed) == ()

    def test_a_point_is_not_told_twice(self, build):
        """What has no foot is not also told that it tips over."""
        findings = audit(build, posed=build.posed(contact_mm2=0, tip_deg=0))

        assert told(findings) == [("contact", STOP)]

    def test_both_thresholds_agree_for_a_square_column(self, build):
        """A column 5.7 widths high tips at 10 degrees (atan 1/5.7), before 8 sides are reached."""
        assert degrees(atan(1 / 5.67)) == pytest.approx(10, abs=0.01)
        assert sqrt(100.0) * 5.67 < 80


class TestOverhang:
    """Places in the air, with and without support."""

    @pytest.mark.parametrize(
        ("ceilings", "support", "expected"),
        [
            ([], False, []),
            ([(5, 5, 0.9, 1)], False, []),
            ([(5, 5, 1, 1)], False, [("overhang", NOTE)]),
            ([(5, 5, 5, 40)], False, [("overhang", NOTE)]),
            ([(5, 5, 40, 5)] * 3, False, [("overhang", NOTE)]),
            ([(5, 5, 5.1, 40)], False, [("overhang", WARN)]),
            ([(5, 5, 40, 5), (5, 20, 6, 6)], False, [("overhang", WARN)]),
            ([(5, 5, 5.1, 40)], True, []),
            ([(5, 5, 0.9, 1)], True, [("settings disagree", NOTE)]),
            ([(5, 5, 1, 1)], True, []),
        ],
    )
    def test_bridges_of_five_mm_hold(self, build, ceilings, support, expected):
        """However long and however many; one that is wider either way does not."""
        part = build.part(settings=build.settings(support=support))
        findings = audit(build, part, posed=build.posed(ceilings=ceilings))

        assert told(findings) == expected

    def test_places_area_and_share_are_told_of_the_wide_ones(self, build):
        """240 mm2 of a shadow of 60 x 40 mm2 are a tenth; the bridge does not count."""
        posed = build.posed(ceilings=[(5, 5, 20, 6), (30, 5, 20, 6), (5, 30, 40, 4)])
        (finding,) = audit(build, posed=posed)

        assert finding.found == (
            "2 places over air wider than 5 mm, 240 mm² (10 % of the part's shadow), "
            "without support"
        )

    @pytest.mark.parametrize(("wide", "level"), [(1.5, NOTE), (1.6, WARN)])
    def test_a_narrow_ledge_around_a_part_holds(self, build, wide, level):
        """A ring of 20 mm: 2 A / P is its width exactly, whatever the number of corners."""
        posed = build.posed(**ring(build, 20.0, wide))

        assert told(audit(build, posed=posed)) == [("overhang", level)]

    @pytest.mark.parametrize(
        ("lean_deg", "allowed_deg", "places"),
        [(45, 45, 0), (45, 44.9, 1), (50, 50, 0), (51, 50, 1)],
    )
    def test_the_angle_is_that_of_the_settings(self, build, lean_deg, allowed_deg, places):
        """Measured from the vertical; a surface exactly at the angle is allowed."""
        rise = 10.0
        out = rise * tan(radians(lean_deg))
        corners = np.array([[0, 0, 5], [0, 30, 5], [out, 30, 5 + rise], [out, 0, 5 + rise]])
        base = build.posed()
        slope = np.array([[0, 1, 2], [0, 2, 3]], dtype=np.int32)
        posed = replace(base, vertices_mm=corners, solid=replace(base.solid, triangles=slope))
        found = patches(posed, allowed_deg)

        assert len(found) == places
        if found:
            assert found[0].area_mm2 == pytest.approx(30 * hypot(rise, out), rel=1e-12)
            assert found[0].span_mm == pytest.approx(min(30, out), rel=1e-12)
            assert found[0].ledge_mm == pytest.approx(2 * 30 * out / (60 + 2 * out), rel=1e-12)

    def test_a_ceiling_on_the_plate_or_facing_up_is_none(self, build):
        """Contact is not overhang, and a floor is not a ceiling."""
        posed = build.posed(ceilings=[(5, 5, 20, 20)])
        down = posed.vertices_mm.copy()
        down[8:, 2] = 0.02
        floor = replace(posed.solid, triangles=posed.solid.triangles[:, ::-1])

        assert len(patches(posed, 45)) == 1
        assert patches(replace(posed, vertices_mm=down), 45) == ()
        assert patches(replace(posed, solid=floor), 45) == ()

    def test_the_span_is_found_at_any_turn(self, build):
        """A strip of 40 x 4 mm, turned by 0 to 180 degrees, stays 4 mm wide."""
        posed = build.posed(ceilings=[(5, 5, 40, 4)])
        for turn in np.linspace(0, np.pi, 13):
            turned = posed.vertices_mm.copy()
            spin = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
            turned[:, :2] = turned[:, :2] @ spin.T
            (patch,) = patches(replace(posed, vertices_mm=turned), 45)
            assert patch.span_mm == pytest.approx(4, rel=1e-9)
            assert patch.area_mm2 == pytest.approx(160, rel=1e-9)

    def test_the_area_agrees_with_the_pose(self, build):
        """Validation against the other route: the sum the solid stage measures by itself."""
        points = np.random.default_rng(1).normal(size=(200, 3))
        hull = ConvexHull(15 * points / np.linalg.norm(points, axis=1)[:, None])
        sides = np.cross(
            *(hull.points[hull.simplices[:, i]] - hull.points[hull.simplices[:, 0]] for i in (1, 2))
        )
        inward = np.einsum("ij,ij->i", sides, hull.equations[:, :3]) < 0
        faces = np.where(inward[:, None], hull.simplices[:, ::-1], hull.simplices)
        base = build.posed()
        posed = replace(
            base,
            vertices_mm=hull.points + 20,
            solid=replace(base.solid, triangles=faces.astype(np.int32)),
        )
        for angle in (30, 45, 60):
            total = sum(patch.area_mm2 for patch in patches(posed, angle))
            assert total == pytest.approx(overhang_mm2(posed, angle), rel=1e-12)


def ring(build, radius, wide, corners=48):
    """Return what makes a posed part of one downward ring, as changes for the builder."""
    turn = np.linspace(0, 2 * np.pi, corners, endpoint=False)
    circle = np.column_stack([np.cos(turn), np.sin(turn)])
    # Mitred offset of a regular polygon: the apothem grows by the width of the ring.
    outer = circle * (radius + wide / np.cos(np.pi / corners))
    flat = np.vstack([circle * radius, outer])
    i = np.arange(corners)
    j = (i + 1) % corners
    faces = np.vstack(
        [np.column_stack([i, j, corners + i]), np.column_stack([j, corners + j, corners + i])]
    )
    base = build.posed()
    return {
        "vertices_mm": np.column_stack([flat, np.full(len(flat), 10.0)]),
        "solid": replace(base.solid, triangles=faces.astype(np.int32)),
    }


@pytest.mark.parametrize(
    ("thinnest", "expected"),
    [
        (float("inf"), []),
        (2.7, []),
        (2.69, [("thin wall", NOTE)]),
        (0.9, [("thin wall", NOTE)]),
        (0.89, [("thin wall", NOTE)]),
        (0.45, [("thin wall", NOTE)]),
        (0.44, [("thin wall", WARN)]),
    ],
)
def test_walls_against_lines(build, thinnest, expected):
    """One line of 0.45 mm is the least, two are meant, and three walls from each face asked."""
    findings = audit(build, layering=build.layering(thinnest))

    assert told(findings) == expected
    assert all(f"{thinnest:.2f} mm" in finding.found for finding in findings)


class TestMesh:
    """Repairs are told, with the words of the stage that made them."""

    @pytest.mark.parametrize(
        ("kind", "level"),
        [
            ("scale", WARN),
            ("inside-out", NOTE),
            ("facing", NOTE),
            ("union", NOTE),
            ("cracks", NOTE),
            ("open surface", WARN),
            ("something new", NOTE),
        ],
    )
    def test_each_repair_is_a_finding_about_the_mesh(self, build, kind, level):
        """Also one of a kind that nobody told the audit of."""
        repair = Repair(kind=kind, text="12 edges")
        (finding,) = audit(build, posed=build.posed(repairs=(repair,)))

        assert (finding.rule, finding.level) == ("mesh", level)
        assert finding.where == build.part().where
        assert finding.found == f"{kind}: 12 edges"

    @pytest.mark.parametrize(
        ("unit", "mesh", "noted"),
        [(None, "hook.stl", True), (None, "hook.3mf", False), ("mm", "hook.stl", False)],
    )
    def test_a_unit_that_nobody_says_is_noted(self, build, unit, mesh, noted):
        """A 3MF says its unit itself; other files do not, and millimetres are a guess."""
        part = replace(build.part(), unit=unit, mesh=Path(mesh))

        assert told(audit(build, part)) == ([("unit", NOTE)] if noted else [])

    def test_a_guessed_outline_is_told_once(self, build):
        """With a repair that speaks of it, or without."""
        (alone,) = audit(build, posed=build.posed(invented=0.031))
        assert alone.level is WARN
        assert "3.1 %" in alone.found

        repair = Repair(kind="open surface", text="3.1 % guessed")
        assert len(audit(build, posed=build.posed(invented=0.031, repairs=(repair,)))) == 1


class TestBuildDirection:
    """The share of the pull that crosses the layers: noted from 0.25, warned of from 0.6."""

    @pytest.mark.parametrize(
        ("crossing", "sustained", "tags", "level"),
        [
            (0.249, True, ("overhead",), None),
            (0.25, False, (), NOTE),
            (0.25, True, (), WARN),
            (0.599, False, (), NOTE),
            (0.599, True, ("overhead",), WARN),
            (0.6, False, (), WARN),
            (0.6, True, (), WARN),
            (0.6, False, ("overhead",), STOP),
            (1.0, True, ("overhead", "wall"), STOP),
        ],
    )
    def test_level(self, build, crossing, sustained, tags, level):
        """Sustained is one step stricter below, overhead one above."""
        part = build.part(loads=(build.load(sustained=sustained),), tags=tags)
        findings = audit(build, part, pulls=(build.pull(crossing),))

        levels = [f.level for f in findings if f.rule == "build direction"]
        assert levels == ([] if level is None else [level])

    def test_the_finding_says_what_was_declared_and_what_to_try(self, build):
        """In the words of the job file."""
        part = build.part(up=(0.0, 1.0, 0.0), loads=(build.load(),))
        (finding,) = audit(build, part, pulls=(build.pull(0.87, better_crossing=0.04),))

        assert finding.found == "declared +y: 87 % of the pull crosses the layers"
        assert finding.remedy == "try up: +x (4 %)"

    @pytest.mark.parametrize(
        ("crossing", "best", "tries"),
        [(0.9, 0.24, True), (0.9, 0.25, False), (0.25, 0.24, True), (0.26, 0.26, False)],
    )
    def test_a_direction_is_offered_only_if_it_passes_the_rule(self, build, crossing, best, tries):
        """Following the remedy must end the finding."""
        part = build.part(loads=(build.load(),))
        (finding,) = audit(build, part, pulls=(build.pull(crossing, better_crossing=best),))

        assert finding.remedy.startswith("try up: +x" if tries else "no axis")

    def test_the_worst_of_several_loads_is_told(self, build):
        """One finding per part."""
        part = build.part(loads=(build.load(), build.load()))
        (finding,) = audit(build, part, pulls=(build.pull(0.3), build.pull(0.7)))

        assert "70 %" in finding.found

    def test_a_load_without_declared_direction_is_noted(self, build):
        """Harmless as drawn, but nobody said so; without a load nobody need."""
        part = build.part(up_declared=False, loads=(build.load(),))
        (finding,) = audit(build, part, pulls=(build.pull(0.1),))
        assert (finding.rule, finding.level) == ("build direction", NOTE)
        assert finding.remedy == "write up: +z to keep it so"

        assert audit(build, build.part(up_declared=False)) == ()

    def test_an_undeclared_bad_direction_is_one_finding(self, build):
        """The stricter of the two, with both facts."""
        part = build.part(up_declared=False, loads=(build.load(),))
        (finding,) = audit(build, part, pulls=(build.pull(0.7),))

        assert finding.level is WARN
        assert finding.found.startswith("up is not declared, drawn +z: 70 %")

    @pytest.mark.parametrize(
        ("direction", "name"),
        [((1, 0, 0), "+x"), ((0, 0, -1), "-z"), ((0.6, -0.0, 0.8), "[0.6, 0, 0.8]")],
    )
    def test_directions_are_written_as_in_the_job(self, direction, name):
        """An axis by name, anything else by numbers, never a minus zero."""
        assert axis_name(direction) == name


class TestCreep:
    """Polylactide under a steady load."""

    @pytest.mark.parametrize(
        ("material", "sustained", "noted"),
        [("pla", True, True), ("pla", False, False), ("petg", True, False)],
    )
    def test_only_pla_and_only_steady_loads(self, build, material, sustained, noted):
        """Smit et al. 2010 speak of polylactide."""
        part = build.part(
            settings=build.settings(material=material), loads=(build.load(sustained=sustained),)
        )
        findings = audit(build, part, filament=build.filament(material=material))

        assert told(findings) == ([("creep", NOTE)] if noted else [])
        assert all("Smit" in finding.source for finding in findings)


class TestExceptionsOfThePart:
    """Reasons reach every rule but the facts; idle ones are told."""

    def test_a_reason_turns_a_rule_of_shape_into_a_note(self, build):
        """The same policy as for settings."""
        part = build.part(exceptions=MappingProxyType({"overhang": "hidden side"}))
        (finding,) = audit(build, part, posed=build.posed(ceilings=[(5, 5, 20, 20)]))

        assert finding.level is NOTE
        assert '"hidden side"' in finding.why

    @pytest.mark.parametrize("rule", sorted(FACTS))
    def test_no_reason_lifts_a_fact(self, build, rule):
        """A part that is too big, or has no walls, stays a stop."""
        part = build.part(
            settings=build.settings(walls=0), exceptions=MappingProxyType({rule: "I want it"})
        )
        findings = audit(build, part, posed=build.posed((300, 300, 300)))

        (finding,) = [each for each in findings if each.rule == rule]
        assert finding.level is STOP
        assert "cannot lift" in finding.why

    def test_an_idle_exception_is_noted_and_a_misspelt_one_warned_of(self, build):
        """Both may hide that a part is not what somebody thinks."""
        part = build.part(exceptions=MappingProxyType({"infill": "light", "overhag": "sags"}))
        findings = audit(build, part)

        assert told(findings) == [("exception", WARN), ("exception", NOTE)]
        assert findings[0].found == 'an exception to "overhag", which is no rule'
        assert findings[0].remedy == 'write "overhang" in place of "overhag" in exceptions of hook'
        assert findings[1].found == 'an exception to "infill"'
        assert findings[1].remedy == 'remove "infill" from exceptions of hook'

    def test_an_exception_like_no_rule_gets_the_list(self, build):
        """All that there is to choose from."""
        part = build.part(exceptions=MappingProxyType({"qqq": "?"}))
        (finding,) = audit(build, part)

        assert finding.remedy.startswith("write one of: material, nozzle_mm, ")
        assert finding.remedy.endswith(', creep in place of "qqq" in exceptions of hook')


class TestGuidelineAndPhysicsTogether:
    """Where both speak of one setting, one finding is enough."""

    @pytest.mark.parametrize(
        ("nozzle_c", "level", "by"), [(185, WARN, "everyday"), (160, STOP, "filament pla")]
    )
    def test_the_stricter_voice_is_heard(self, build, nozzle_c, level, by):
        """On a tie the guideline, whose reason is the user's own."""
        rules = build.guideline(build.rule("nozzle_c", usual_of_material=True))
        part = build.part(settings=build.settings(nozzle_c=nozzle_c))
        findings = audit(build, part, guideline=rules)

        (voice,) = [finding for finding in findings if finding.rule == "nozzle_c"]
        assert voice.level is level
        assert by in voice.expected

    def test_tags_and_names_reach_the_guideline(self, build):
        """The part's own name and tags pick the rule."""
        rules = build.guideline(
            build.rule(at_least=9),
            build.rule(at_least=8, tags=("bin",)),
            build.rule(at_least=7, parts=("hook",)),
        )
        named = audit(build, build.part(), guideline=rules)
        tagged = audit(build, build.part("box", tags=("bin",)), guideline=rules)

        assert "at least 7" in named[0].expected
        assert "at least 8" in tagged[0].expected
