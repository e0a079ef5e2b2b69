"""The drilling template, read back from its PDF by pdfplumber: true to 0.1 mm.

That is validation: what the reader finds on the page (circles, lines, letters, in points of
1/72 inch) is compared with the places of the screws, which the drawing was made from.
"""

import io
import math
import re
from dataclasses import replace

import pdfplumber
import pytest

from planner.report.wall.dxf import wall_dxf
from planner.report.wall.elevation.draw import elevation_pdf, elevation_svg
from planner.report.wall.subject import STOP_WORDS, subjects
from planner.report.wall.template.draw import template_pdf
from planner.report.wall.template.overview import instructions
from planner.report.wall.template.tiles import tile

from .walls import HOSTILE, bare_wall, big_wall, counted, mounted, mounting

MM = 72 / 25.4
TRUE_MM = 0.1
PITCH_MM = 45.0
PAPERS = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}


def pages_of(subject, paper):
    """Return the PDF's pages as plain data: (width, height, circles, lines, words), in mm."""
    tiling = tile(subject, paper)
    found = []
    with pdfplumber.open(io.BytesIO(template_pdf(subject, tiling))) as pdf:
        for page in pdf.pages:
            high = float(page.height)
            circles = [
                (
                    (curve["x0"] + curve["x1"]) / 2 / MM,
                    (high - (curve["top"] + curve["bottom"]) / 2) / MM,
                    (curve["x1"] - curve["x0"]) / 2 / MM,
                )
                for curve in page.curves
            ]
            lines = [
                (
                    line["x0"] / MM,
                    line["x1"] / MM,
                    (high - line["bottom"]) / MM,
                    (high - line["top"]) / MM,
                )
                for line in page.lines
            ]
            words = page.extract_text()
            found.append((float(page.width) / MM, high / MM, circles, lines, words))
    return tiling, found


def holes_on(circles):
    """Return the middles of marks of holes (radius 2.5 mm), and of crosses (1.8 mm)."""
    holes = [(x, y) for x, y, r in circles if abs(r - 2.5) < 0.05]
    crosses = [(x, y) for x, y, r in circles if abs(r - 1.8) < 0.05]
    return holes, crosses


@pytest.fixture(scope="module", params=sorted(PAPERS))
def printed(request):
    """Return a wall whose margins are no round numbers, and its template read back."""
    wall = bare_wall("left of the door", 637.3, 441.7)
    told = counted(wall, pitch=PITCH_MM)
    subject = subjects(told, mounted(told))[0]
    return subject, request.param, *pages_of(subject, request.param)


def test_pages_have_the_size_of_the_paper(printed):
    """Upright or lying."""
    _, paper, tiling, pages = printed

    assert len(pages) == tiling.pages == 1 + len(tiling.printed)
    for wide, high, *_ in pages:
        assert sorted((wide, high)) == pytest.approx(sorted(PAPERS[paper]), abs=0.01)


def test_readers_are_asked_not_to_scale(printed):
    """ISO 32000-1, 12.2: PrintScaling None selects no scaling in the print dialogue."""
    subject, _, tiling, _ = printed
    with pdfplumber.open(io.BytesIO(template_pdf(subject, tiling))) as pdf:
        wishes = pdf.doc.catalog["ViewerPreferences"]
        wishes = wishes.resolve() if hasattr(wishes, "resolve") else wishes

    assert wishes["PrintScaling"].name == "None"


def test_both_bars_are_100_mm_on_every_page(printed):
    """One level, one upright, on the overview too."""
    *_, pages = printed

    for _, _, _, lines, words in pages:
        level = [x1 - x0 for x0, x1, y0, y1 in lines if y1 - y0 < 0.01]
        upright = [y1 - y0 for x0, x1, y0, y1 in lines if x1 - x0 < 0.01]
        assert any(abs(length - 100) < TRUE_MM for length in level)
        assert any(abs(length - 100) < TRUE_MM for length in upright)
        assert words.count("100 mm") >= 1


def test_holes_are_where_the_screws_are(printed):
    """Measured on each page from its lower left cross, whose place the page tells in words."""
    subject, _, tiling, pages = printed
    found = {}
    for each, (_, _, circles, _, words) in zip(tiling.printed, pages[1:], strict=True):
        holes, crosses = holes_on(circles)
        assert len(crosses) == 4
        left, low = min(x for x, _ in crosses), min(y for _, y in crosses)
        told = re.search(
            r"Lower left cross: ([\d.]+) mm to the right of and ([\d.]+) mm above", words
        )
        corner = float(told[1]), float(told[2])
        assert corner == tiling.corner_mm(each)
        for x, y in holes:
            place = (x - left + corner[0], y - low + corner[1])
            number, fixing = min(
                subject.fixings,
                key=lambda pair: math.dist(place, (pair[1].x_mm, pair[1].y_mm)),
            )
            assert math.dist(place, (fixing.x_mm, fixing.y_mm)) < TRUE_MM
            found.setdefault(number, []).append(place)

    assert sorted(found) == [number for number, _ in subject.fixings]
    # a hole in the overlap is on two sheets or four, each time at the same place of the wall
    assert any(len(places) > 1 for places in found.values())
    for places in found.values():
        assert all(math.dist(places[0], other) < TRUE_MM for other in places[1:])


def test_distances_between_holes_of_a_page_are_true(printed):
    """What a tape would say on the paper: 45 mm from hole to hole."""
    *_, pages = printed
    for _, _, circles, _, _ in pages[1:]:
        holes, _ = holes_on(circles)
        for x, y in holes:
            for other_x, other_y in holes:
                for apart in (abs(x - other_x), abs(y - other_y)):
                    assert abs(apart - PITCH_MM * round(apart / PITCH_MM)) < TRUE_MM


def test_crosses_of_neighbouring_sheets_lie_on_each_other(printed):
    """The step from cross to cross is that of the lattice, and what each page says of the next."""
    _, _, tiling, pages = printed
    for each, (_, _, circles, _, words) in zip(tiling.printed, pages[1:], strict=True):
        _, crosses = holes_on(circles)
        xs, ys = (
            sorted({round(x, 2) for x, _ in crosses}),
            sorted({round(y, 2) for _, y in crosses}),
        )
        assert max(xs) - min(xs) == pytest.approx(tiling.step_mm[0], abs=TRUE_MM)
        assert max(ys) - min(ys) == pytest.approx(tiling.step_mm[1], abs=TRUE_MM)
        right = next((o for o in tiling.printed if o.row == each.row and o > each), None)
        above = next(
            (o for o in tiling.printed if o.column == each.column and o.row > each.row), None
        )
        for side, other, axis in (("right", right, 0), ("above", above, 1)):
            if other is not None:
                away = tiling.corner_mm(other)[axis] - tiling.corner_mm(each)[axis]
                assert f"{side} {other.name} at {away:g} mm" in words


def test_each_sheet_shows_5_mm_beyond_its_crosses(printed):
    """Every hole there, of whatever tile, and the lines through holes as far as that."""
    subject, _, tiling, pages = printed
    for each, (_, _, circles, lines, _) in zip(tiling.printed, pages[1:], strict=True):
        (x, y), (wide, high) = tiling.corner_mm(each), tiling.step_mm
        expected = sum(
            x - 5 <= fixing.x_mm <= x + wide + 5 and y - 5 <= fixing.y_mm <= y + high + 5
            for _, fixing in subject.fixings
        )
        holes, crosses = holes_on(circles)
        assert len(holes) == expected
        left, right = min(x for x, _ in crosses), max(x for x, _ in crosses)
        if 0 < each.column < tiling.columns - 1:
            ends = [(x0, x1) for x0, x1, y0, y1 in lines if y1 - y0 < 0.01 and x1 - x0 > wide]
            assert min(x0 for x0, _ in ends) == pytest.approx(left - 5, abs=TRUE_MM)
            assert max(x1 for _, x1 in ends) == pytest.approx(right + 5, abs=TRUE_MM)


def test_each_page_names_its_tile_and_its_holes(printed):
    """Number, x and y beside every hole."""
    subject, _, tiling, pages = printed
    for each, (_, _, circles, _, words) in zip(tiling.printed, pages[1:], strict=True):
        assert each.name in words
        holes, _ = holes_on(circles)
        assert len(re.findall(r"x [\d.]+ y [\d.]+", words)) >= len(holes)
    assert "Drill as the anchor's maker says" in pages[1][4]
    number, fixing = subject.fixings[0]
    assert number == 1
    assert f"x {fixing.x_mm:.1f}".rstrip("0").rstrip(".") in pages[1][4]


def test_nothing_is_printed_in_the_margin(printed):
    """5 mm of every edge stay free: printers do not reach there."""
    *_, pages = printed
    for wide, high, circles, lines, _ in pages:
        for x0, x1, y0, y1 in lines:
            assert 5 <= x0 <= x1 <= wide - 5
            assert 5 <= y0 <= y1 <= high - 5
        for x, y, r in circles:
            assert 5 <= x - r <= x + r <= wide - 5
            assert 5 <= y - r <= y + r <= high - 5


def test_the_overview_counts_pages_and_names_what_is_left_out():
    """So that nobody looks for a page that was never there."""
    told = counted(big_wall())
    subject = subjects(told, mounted(told))[0]
    tiling = tile(subject, "A4")
    with pdfplumber.open(io.BytesIO(template_pdf(subject, tiling))) as pdf:
        words = pdf.pages[0].extract_text()
        count = len(pdf.pages)

        dots = [curve for curve in pdf.pages[0].curves if curve["width"] < 1.2 * MM]

    assert f"{count} pages of A4" in words
    assert len(dots) == len(subject.fixings)
    assert f"{len(tiling.blank)} tiles without a hole left out" in words
    assert "Left out: " in words
    far = math.dist(
        (subject.fixings[0][1].x_mm, subject.fixings[0][1].y_mm),
        (subject.fixings[-1][1].x_mm, subject.fixings[-1][1].y_mm),
    )
    assert f"hole {len(subject.fixings)} it must be {far:.1f} mm" in words.replace("\n", " ")


def test_a_wall_that_must_not_be_mounted_so_says_it_before_all_else():
    """The template is what is carried to the wall; of other walls' faults it says nothing."""
    told = counted(bare_wall("north"), bare_wall("south"))
    fault = "stop: wall 'south': 3 of 8 screws overloaded; the worst bears 90 N downwards"
    wrong = replace(mounted(told), notes=(fault, "wall 'south': 1 of 8 screws meets a stud"))
    north, south = subjects(told, wrong)
    with pdfplumber.open(io.BytesIO(template_pdf(south, tile(south, "A4")))) as pdf:
        words = pdf.pages[0].extract_text().replace("\n", " ")

    assert f"Stop, do not drill yet: {fault[6:]}." in words
    assert words.index("Stop") < words.index("pages of A4")
    assert "local codes and licensed practice" in words
    assert south.stops == (fault,)
    assert north.stops == ()
    assert "Stop" not in " ".join(instructions(north, tile(north, "A4")))


def test_every_drawing_of_such_a_wall_says_stop():
    """Elevation and DXF may be all that somebody looks at before drilling."""
    told = counted(bare_wall("north"), bare_wall("south"))
    wrong = replace(mounted(told), notes=("stop: wall 'south': 3 of 8 screws overloaded",))
    north, south = subjects(told, wrong)
    with pdfplumber.open(io.BytesIO(elevation_pdf(south, "A4"))) as pdf:
        assert STOP_WORDS in pdf.pages[0].extract_text().replace("\n", " ")

    for drawn in (elevation_svg, lambda subject: wall_dxf(subject).decode()):
        assert STOP_WORDS in drawn(south)
        assert STOP_WORDS not in drawn(north)


def test_a_junction_without_a_screw_says_so():
    """It is no hole: another sign, and words."""
    told = counted(bare_wall("w", 160, 220), pitch=80.0)
    subject = subjects(told, mounted(told, skip=lambda j: "why" if j.row == 1 else ""))[0]
    *_, circles, _, words = pages_of(subject, "A4")[1][1]

    assert len([1 for *_, r in circles if abs(r - 3.0) < 0.05]) == len(subject.skipped) == 3
    assert words.count("no screw") == 3
    assert len(holes_on(circles)[0]) == len(subject.fixings) == 6


def test_crowded_holes_get_numbers_only():
    """Words beside holes 8 mm apart would hide them."""
    told = counted(bare_wall("w", 100, 60), pitch=8.0)
    subject = subjects(told, mounted(told))[0]
    _, pages = pages_of(subject, "A4")

    assert not re.search(r"x [\d.]+ y [\d.]+ x", pages[1][4].replace("\n", " "))
    assert len(holes_on(pages[1][2])[0]) == len(subject.fixings)


def test_no_holes_or_too_many_leave_an_overview_that_says_so():
    """An empty PDF would be a puzzle."""
    told = counted(bare_wall())
    none = subjects(told, mounting(()))[0]
    told = counted(bare_wall("hall", 12_000, 8_000))
    many = subjects(told, mounted(told))[0]

    for subject, said in ((none, "nothing to drill"), (many, "none is drawn")):
        tiling = tile(subject, "A4")
        with pdfplumber.open(io.BytesIO(template_pdf(subject, tiling))) as pdf:
            assert len(pdf.pages) == 1
            assert said in pdf.pages[0].extract_text().replace("\n", " ")
        assert any(said in line for line in instructions(subject, tiling))


@pytest.mark.parametrize("name", [HOSTILE, "w" * 2000, "wall 🔧 стена", "\x00\u202e", ""])
def test_any_name_can_be_printed(name):
    """And does not run off the paper."""
    told = counted(replace(bare_wall(), name=name))
    subject = subjects(told, mounted(told))[0]
    with pdfplumber.open(io.BytesIO(template_pdf(subject, tile(subject, "A4")))) as pdf:
        for page in pdf.pages:
            assert all(char["x1"] <= page.width - 5 * MM for char in page.chars)
