"""Places to drill as CSV and DXF: the same numbers, safe to open."""

import csv
import io

import ezdxf
import pytest
from ezdxf import units

from planner.report.wall.dxf import LAYERS, literal, wall_dxf
from planner.report.wall.points import COLUMNS, fixings_csv
from planner.report.wall.subject import subjects
from planner.report.wall.template.tiles import tile
from planner.wall.model import FixingShare

from .walls import HOSTILE, bare_wall, big_wall, counted, mounted, mounting


def rows_of(*walls, loads=()):
    told = counted(*walls)
    screws = mounted(told)
    found = subjects(told, screws)
    with_loads = mounting(screws.fixings, loads=[load(screws) for load in loads])
    text = fixings_csv([(each, tile(each, "A4")) for each in found], with_loads)
    return found, list(csv.reader(io.StringIO(text, newline="")))


def test_csv_has_one_line_per_screw_from_the_bottom_left():
    """Numbers start anew on every wall; x and y are those of the screws."""
    found, (head, *rows) = rows_of(bare_wall("one"), bare_wall("two", 330, 230))

    assert tuple(head) == COLUMNS
    expected = [
        [str(number), subject.name, fixing.x_mm, fixing.y_mm]
        for subject in found
        for number, fixing in subject.fixings
    ]
    assert [[n, wall, float(x), float(y)] for n, wall, x, y, *_ in rows] == expected
    assert rows[0][:2] == ["1", "one"]
    assert all(row[5].startswith("tile A") or row[5].startswith("tile B") for row in rows)
    own = [(float(row[3]), float(row[2])) for row in rows if row[1] == "one"]
    assert own == sorted(own)


def test_csv_tells_studs_and_anchors_that_bear_too_much():
    """In words beside the tile."""

    def load(screws):
        return FixingShare(fixing=screws.fixings[0], shear_n=900, pull_n=0, used=1.25)

    _, (_, *rows) = rows_of(big_wall(), loads=[load])

    assert {row[4] for row in rows} == {"yes", "no"}
    assert sum("bears 125 % of what its anchor may" in row[5] for row in rows) == 1


@pytest.mark.parametrize("name", ["=cmd|'/c calc'!A0", "+1", "-1", "@x", " =1", HOSTILE, 'a"b,c'])
def test_a_spreadsheet_takes_no_name_for_a_formula(name):
    """The cell starts with an apostrophe, or with a harmless letter."""
    _, (_, *rows) = rows_of(bare_wall(name))

    assert all(not row[1].lstrip().startswith(("=", "+", "-", "@")) for row in rows)
    assert all(len(row) == len(COLUMNS) for row in rows)


def read(subject):
    return ezdxf.read(io.StringIO(wall_dxf(subject).decode()))


def test_dxf_reads_back_clean_with_the_same_places():
    """Validation by ezdxf: no fault in the audit, millimetres, a point and a circle per screw."""
    told = counted(big_wall())
    subject = subjects(told, mounted(told))[0]

    document = read(subject)

    audit = document.audit()
    assert not audit.errors
    assert not audit.fixes
    assert document.units == units.MM
    assert set(LAYERS) <= {layer.dxf.name for layer in document.layers}
    space = document.modelspace()
    expected = sorted((fixing.x_mm, fixing.y_mm) for _, fixing in subject.fixings)
    points = sorted((p.dxf.location.x, p.dxf.location.y) for p in space.query("POINT"))
    circles = sorted((c.dxf.center.x, c.dxf.center.y) for c in space.query("CIRCLE"))
    assert points == expected  # written with all their digits
    assert circles == expected
    numbers = [text.dxf.text for text in space.query('TEXT[layer=="NUMBERS"]')]
    assert numbers == [str(number) for number, _ in subject.fixings]
    rim = space.query('LWPOLYLINE[layer=="WALL"]')[0]
    assert list(rim.get_points("xy")) == [(0, 0), (2437, 0), (2437, 1225), (0, 1225)]
    cuts = [
        next(iter(cut.get_points("xy"))) for cut in space.query('LWPOLYLINE[layer=="CUT-OUTS"]')
    ]
    assert cuts == [(700, 300), (1900, 700)]
    # all sides of cells together are as long as the edges: nothing lost in joining them
    lines = space.query('LINE[layer=="CELLS"]')
    length = sum((line.dxf.end - line.dxf.start).magnitude for line in lines)
    assert length == pytest.approx(100 * len(subject.panelling.edges))


@pytest.mark.parametrize("name", [HOSTILE, "%%c50 ^J \\U+0041", "wall 🔧 стена", "x" * 3000, ""])
def test_any_name_survives_dxf(name):
    """Read back as one text on its layer, and no steering sign left."""
    told = counted(bare_wall(name))
    document = read(subjects(told, mounted(told))[0])

    assert not document.audit().errors
    said = [t.dxf.text for t in document.modelspace().query('TEXT[layer=="TEXT"]')]
    assert said == ([literal(name)] if name else [""])
    assert "%%" not in said[0]


def test_a_hall_has_points_only():
    """Thousands of circles with numbers would take long to open."""
    told = counted(bare_wall("hall", 10_000, 6_000))
    document = read(subjects(told, mounted(told))[0])

    assert len(document.modelspace().query("POINT")) == 101 * 61
    assert not document.modelspace().query("CIRCLE")
