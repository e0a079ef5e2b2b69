"""Faults planted in sound toolpaths: each is found, with its line; sound files have none."""

from __future__ import annotations

import pytest

from planner.audit.measure import measure_toolpath
from planner.settings.load import load_printer
from planner.settings.model import Level, Rectangle
from tests.audit.measure import shapes, writing
from tests.audit.measure.catalogue import changed

ONE = shapes.block(14, 12, 2.4).moved(20, 20)


@pytest.fixture(scope="module")
def sound():
    """Return the lines of a sound plate, E relative."""
    return writing.write(changed("plain", shapes=(ONE,)))[0].splitlines()


@pytest.fixture
def faults(tmp_path):
    """Return a function from lines to (rule, level, line) of their faults."""

    def find(lines, printer=None):
        path = tmp_path / "plate.gcode"
        path.write_text("\n".join(lines) + "\n")
        found = measure_toolpath(path, printer=printer).faults
        return [(f.rule, f.level, _line(f)) for f in found]

    return find


def _line(finding):
    return int(finding.where.rpartition(":")[2])


def first_of(lines, start, after=0):
    return next(k for k in range(after, len(lines)) if lines[k].startswith(start))


def first_laid(lines):
    """Index of the first line that lays plastic on its way."""
    return next(k for k, t in enumerate(lines) if " E" in t and (" X" in t or " Y" in t))


def planted(lines, at, *new):
    """Return lines with new ones before index `at`; the first new one has line `at + 1`."""
    return [*lines[:at], *new, *lines[at:]]


def without(lines, *starts):
    return [line for line in lines if not line.startswith(starts)]


def test_a_sound_plate_has_no_faults(sound, faults):
    assert faults(sound) == []
    assert faults(sound, load_printer("open_frame_220")) == []


def test_a_nozzle_turned_off_too_early_is_cold_extrusion(sound, faults):
    at = first_of(sound, "G1 X", after=400)
    assert faults(planted(sound, at, "M104 S0")) == [("cold extrusion", Level.STOP, at + 2)]


def test_a_nozzle_that_is_never_heated_is_cold_extrusion(sound, faults):
    lines = without(sound, "M104", "M109")
    assert faults(lines) == [("cold extrusion", Level.STOP, 1 + first_laid(lines))]


def test_a_file_that_does_not_wait_for_heat_is_told(sound, faults):
    lines = without(sound, "M109")
    assert faults(lines) == [("no wait for heat", Level.WARN, 1 + first_laid(lines))]


def test_a_bed_or_a_fan_that_is_never_set_is_told_at_the_first_plastic(sound, faults):
    no_bed, no_fan = without(sound, "M140", "M190"), without(sound, "M106", "M107")
    assert faults(no_bed) == [("bed never heated", Level.WARN, 1 + first_laid(no_bed))]
    assert faults(no_fan) == [("fan never set", Level.WARN, 1 + first_laid(no_fan))]


def test_a_move_under_the_bed_is_found(sound, faults):
    at = first_of(sound, "G0 X", after=300)
    lines = planted(sound, at, "G0 Z-0.3", "G0 Z0.6")
    assert ("under the bed", Level.STOP, at + 1) in faults(lines)


def test_a_missing_feed_is_found(sound, faults):
    at = first_of(sound, "G28")
    lines = planted(sound, at, "G1 X5 Y5")
    assert ("missing feed", Level.STOP, at + 1) in faults(lines)


def test_a_feed_of_nothing_is_found(sound, faults):
    at = next(k for k, t in enumerate(sound) if k > 300 and t.startswith("G1 X") and "F" not in t)
    assert ("missing feed", Level.STOP, at + 2) in faults(planted(sound, at, "G1 F0"))


@pytest.mark.parametrize("jump", ["G0 X5000", "G0 Y-1500", "G0 Z3000"])
def test_a_jump_to_where_no_printer_goes_is_found(sound, faults, jump):
    at = first_of(sound, "G0 X", after=300)
    back = "G0 X25 Y25 Z0.600"
    assert ("absurd jump", Level.STOP, at + 1) in faults(planted(sound, at, jump, back))


def test_a_jump_of_the_strand_is_found(sound, faults):
    """Absolute numbers read as relative ones push a lump out in one move."""
    at = first_of(sound, "G1 X", after=300)
    line = sound[at].split(" E")[0] + " E250"
    assert ("absurd jump", Level.STOP, at + 1) in faults([*sound[:at], line, *sound[at + 1 :]])


def test_missing_layers_are_found(sound, faults):
    """From 0.6 mm straight to 2.0: what comes next hangs in the air."""
    low = next(k for k, line in enumerate(sound) if "Z0.800" in line)
    high = next(k for k, line in enumerate(sound) if "Z2.000" in line)
    lines = [*sound[:low], *sound[high:]]
    assert faults(lines) == [("absurd jump", Level.STOP, low + 1 + first_laid(lines[low:]))]


def test_plastic_beside_the_bed_is_found(faults):
    """A plate for a wide bed on a narrow one: the first line beyond it is told."""
    lines = writing.write(changed("plain", shapes=(ONE.moved(190, 100),)))[0].splitlines()
    printer = load_printer("open_frame_220")

    found = faults(lines, printer)
    ((rule, _, line),) = [f for f in found if f[1] is Level.STOP]

    assert rule == "outside the bed"
    beyond = next(
        k
        for k, text in enumerate(lines)
        if text.startswith("G1 X") and float(text.split()[1][1:]) > 220.01
    )
    assert line == beyond + 1


def test_plastic_on_a_keep_out_is_found(sound, faults):
    from dataclasses import replace

    spot = Rectangle(x_min_mm=30, y_min_mm=18, x_max_mm=60, y_max_mm=60)
    printer = replace(load_printer("open_frame_220"), keep_out=(spot,))
    ((rule, level, line),) = faults(sound, printer)
    assert (rule, level) == ("keep-out", Level.STOP)
    assert "E" in sound[line - 1]
    assert faults(sound, replace(printer, keep_out=(replace(spot, x_min_mm=40),))) == []


def test_several_faults_are_all_told(sound, faults):
    """Not only the first: a cold nozzle, a plunge and a jump in one file."""
    lines = without(sound, "M140", "M190")
    at = first_of(lines, "G0 X", after=500)
    lines = planted(lines, at, "M104 S20", "G0 Z-1", "G0 X3000", "G0 X25 Y25 Z0.8")
    rules = {rule for rule, _, _ in faults(lines)}
    assert rules == {"cold extrusion", "under the bed", "absurd jump", "bed never heated"}
