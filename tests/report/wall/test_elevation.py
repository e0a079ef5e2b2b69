"""The elevation: to scale, within its sheet, legible, and safe whatever the names."""

import io
import re
from dataclasses import replace
from xml.etree import ElementTree as ET

import pdfplumber
import pytest

from planner.job.layout.model import CutOut, Hung, WallShape
from planner.report.wall.elevation.draw import elevation_pdf, elevation_svg
from planner.report.wall.elevation.layout import PX_WIDTH, paper_sheets, screen_sheet
from planner.report.wall.elevation.symbols import stages_of, tone
from planner.report.wall.sheet.marks import Box, Disc, Path, Text, width_of
from planner.report.wall.subject import subjects
from planner.wall.order.model import Kit

from .walls import HOSTILE, bare_wall, big_wall, counted, mounted

SVG = "{http://www.w3.org/2000/svg}"
MM = 72 / 25.4
WALLS = {
    "big": big_wall(),
    "bare": bare_wall(),
    "tower": bare_wall("tower", 210.0, 2600.0),
    "strip": bare_wall("strip", 4950.0, 130.0),
    "one cell": bare_wall("one cell", 100.0, 100.0),
}


def subject_of(wall, stage_of=None, **how):
    told = counted(wall)
    return subjects(told, mounted(told, **how), stage_of)[0]


@pytest.fixture(scope="module")
def big():
    return subject_of(WALLS["big"])


def ends_of(mark):
    """Return the corners of a box that holds a mark."""
    if isinstance(mark, Path):
        return [point for line in mark.lines for point in line]
    if isinstance(mark, Box):
        return [(mark.x, mark.y), (mark.x + mark.width, mark.y + mark.height)]
    if isinstance(mark, Disc):
        return [
            (mark.x + a * mark.radius, mark.y + b * mark.radius) for a in (-1, 1) for b in (-1, 1)
        ]
    long = width_of(mark.text, mark.size)
    before = {"start": 0, "middle": long / 2, "end": long}[mark.anchor]
    along = [(-before, -0.25 * mark.size), (long - before, 0.75 * mark.size)]
    if mark.turned:
        return [(mark.x - b, mark.y + a) for a, b in along]
    return [(mark.x + a, mark.y + b) for a, b in along]


@pytest.mark.parametrize("wall", WALLS.values(), ids=WALLS)
def test_everything_is_within_the_viewbox(wall):
    """Text as well, at its widest."""
    sheet = screen_sheet(subject_of(wall))

    for mark in sheet.marks:
        for x, y in ends_of(mark):
            assert -0.01 <= x <= sheet.width + 0.01, mark
            assert -0.01 <= y <= sheet.height + 0.01, mark


def numbers_in(root):
    """Return every point of paths, boxes and discs of an SVG, from the SVG alone."""
    for path in root.iter(f"{SVG}path"):
        for point in re.findall(r"[ML](-?[\d.]+) (-?[\d.]+)", path.get("d")):
            yield tuple(map(float, point))
    for box in root.iter(f"{SVG}rect"):
        x, y, w, h = (float(box.get(key, 0)) for key in ("x", "y", "width", "height"))
        yield from ((x, y), (x + w, y + h))
    for disc in root.iter(f"{SVG}circle"):
        x, y, r = (float(disc.get(key)) for key in ("cx", "cy", "r"))
        yield from ((x - r, y - r), (x + r, y + r))


@pytest.mark.parametrize("own_style", [True, False])
def test_svg_is_well_formed_and_within_its_viewbox(big, own_style):
    """Read back from the text; with its own style it needs no page around it."""
    text = elevation_svg(big, own_style=own_style)
    root = ET.fromstring(text)
    _, _, width, height = map(float, root.get("viewBox").split())

    assert all(0 <= x <= width and 0 <= y <= height for x, y in numbers_in(root))
    assert float(root.get("width")) == PX_WIDTH
    assert ("--ink:" in text) is own_style
    used = set(re.findall(r"var\(--([a-z0-9-]+)\)", text))
    if own_style:
        assert all(f"--{name}:" in text for name in used)


def test_svg_is_to_scale(big):
    """The slanted crosses of screws are as far apart as the junctions, in both directions."""
    root = ET.fromstring(elevation_svg(big))
    wall = next(  # the thick rim, drawn last
        box for box in reversed(list(root.iter(f"{SVG}rect"))) if float(box.get("width")) > 600
    )
    left, scale = float(wall.get("x")), float(wall.get("width")) / 2437.0
    bottom = float(wall.get("y")) + float(wall.get("height"))
    crosses = set()
    for path in root.iter(f"{SVG}path"):
        lines = re.findall(r"M([\d.]+) ([\d.]+)L([\d.]+) ([\d.]+)", path.get("d"))
        if len(lines) == 2 and "Z" not in path.get("d"):
            a, b = (tuple(map(float, line)) for line in lines)
            if a[0] == b[0] and a[2] == b[2] and a[1] != a[3]:
                middle = ((a[0] + a[2]) / 2, (a[1] + a[3]) / 2)
                crosses.add(
                    (round((middle[0] - left) / scale), round((bottom - middle[1]) / scale))
                )

    expected = {(round(fixing.x_mm), round(fixing.y_mm)) for _, fixing in big.fixings}
    # 0.005 units of rounding in the file are 0.02 mm here; half a millimetre of rounding above
    assert all(
        any(abs(x - ex) <= 1 and abs(y - ey) <= 1 for x, y in crosses) for ex, ey in expected
    )


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("wall", WALLS.values(), ids=WALLS)
def test_paper_is_true_to_the_scale_it_states(wall, paper):
    """Validation by pdfplumber: the wall's rim and the scale bar, read back in points."""
    subject = subject_of(wall)
    with pdfplumber.open(io.BytesIO(elevation_pdf(subject, paper))) as pdf:
        page = pdf.pages[0]
        sizes = {"A4": (210, 297), "Letter": (215.9, 279.4)}[paper]
        text = page.extract_text()
        ratio = int(re.search(r"elevation, 1:(\d+) on " + paper, text)[1])
        rims = [(box["width"] / MM * ratio, box["height"] / MM * ratio) for box in page.rects]
        bar = float(re.search(r"([\d.]+) mm; all", text.replace("…", ";") + " mm; all")[1] or 0)
        lengths = [abs(line["x1"] - line["x0"]) / MM * ratio for line in page.lines]

    assert sorted((page.width / MM, page.height / MM)) == pytest.approx(sizes, abs=0.01)
    assert ratio in {step * 10**power for step in (1, 2, 5) for power in range(4)}
    assert any(  # 0.1 mm on the paper
        abs(w - wall.width_mm) < 0.1 * ratio and abs(h - wall.height_mm) < 0.1 * ratio
        for w, h in rims
    )
    if bar:
        assert any(abs(length - bar) < 0.1 * ratio for length in lengths)


@pytest.mark.parametrize("wall", WALLS.values(), ids=WALLS)
def test_nothing_runs_off_the_paper(wall):
    """All lines, boxes and letters lie on the page, with a margin."""
    with pdfplumber.open(io.BytesIO(elevation_pdf(subject_of(wall), "A4"))) as pdf:
        for page in pdf.pages:
            for thing in [*page.lines, *page.rects, *page.curves, *page.chars]:
                assert thing["x0"] >= 5 * MM
                assert thing["x1"] <= page.width - 5 * MM
                assert thing["top"] >= 5 * MM
                assert thing["bottom"] <= page.height - 5 * MM


def test_dimensions_say_margins_grid_and_whole(big):
    """2437 = 18.5 + 2400 + 18.5 and 1225 = 12.5 + 1200 + 12.5."""
    words = [mark.text for mark in screen_sheet(big).marks if isinstance(mark, Text)]

    for said in ("2437", "2400", "1225", "1200"):
        assert words.count(said) == 1
    assert words.count("18.5") == words.count("12.5") == 2


def test_no_margin_no_dimension_of_nothing():
    """A wall that the cells fill to the rim has no 0 written beside it."""
    words = [
        mark.text
        for mark in screen_sheet(subject_of(bare_wall("w", 600, 400))).marks
        if isinstance(mark, Text)
    ]

    assert "0" not in words
    assert words.count("600") == 1  # the whole, which is the grid as well


def test_legend_counts_what_is_drawn(big):
    """Closed forms do for the cells; keys are shared edges, trims free ones."""
    words = " | ".join(mark.text for mark in screen_sheet(big).marks if isinstance(mark, Text))

    shared = sum(edge.shared for edge in big.panelling.edges)
    free = len(big.panelling.edges) - shared
    for said in (
        f"panel: {len(big.panelling.cells)}",
        f"key: {shared}",
        f"trim: {free}",
        "hook: 2",
        "shelf bracket: 2",
        "socket by the door (socket): 160 x 80 at 700, 300",
        "4 studs",
        "keep free",
    ):
        assert said in words
    on_studs = sum(fixing.stud for _, fixing in big.fixings)
    assert f"{on_studs} fixings on a stud" in words
    assert f"{len(big.fixings) - on_studs} fixings" in words


def test_every_accessory_has_its_name_or_number_on_its_plate(big):
    """On a screen, where cells are small, the number; two in one cell are told together."""
    hung = tuple(Hung(thing=f"thing {n}", cell=(n, 2)) for n in range(1, 9))
    hung += (Hung(thing="thing 1", cell=(3, 5)), Hung(thing="thing 8", cell=(3, 5)))
    subject = subject_of(replace(WALLS["big"], hung=hung))

    words = [mark.text for mark in screen_sheet(subject).marks if isinstance(mark, Text)]
    for n in range(1, 9):
        number = str(subject.numbers[f"thing {n}"])
        assert f"{number} thing {n}: {2 if n in {1, 8} else 1}" in words
        assert number in words
    printed = [m.text for m in paper_sheets(subject, "A4")[0].marks if isinstance(m, Text)]
    assert f"{subject.numbers['thing 1']}+{subject.numbers['thing 8']}" in printed


def test_screws_left_out_are_told_with_their_reason():
    """One line for each reason, with how many."""
    subject = subject_of(bare_wall(), skip=lambda j: "near the edge" if j.row == 0 else "")
    words = [mark.text for mark in screen_sheet(subject).marks if isinstance(mark, Text)]

    assert "7 left out: near the edge" in words
    assert sum(mark.style == "left-out" for mark in screen_sheet(subject).marks) >= 14


def test_stages_have_tones_and_a_legend():
    """With one stage parts have their own colours; with several the stage's."""
    told = counted(bare_wall())
    plain, staged = (
        subjects(told, mounted(told), stage_of)[0]
        for stage_of in (None, {"panel": 1, "key": 2, "trim": 3, "standoff": 3, "corner cap": 3})
    )
    words = [mark.text for mark in screen_sheet(staged).marks if isinstance(mark, Text)]

    assert tone(plain, "key").startswith("kind-")
    assert stages_of(staged) == [1, 2, 3]
    assert [tone(staged, part) for part in ("panel", "key", "trim")] == [
        "stage-2",
        "stage-3",
        "stage-4",
    ]
    for said in ("panel: 24, stage 1", "key: 38, stage 2", "trim: 20, stage 3"):
        assert any(word.endswith(said) for word in words)


def test_kits_are_marked_where_they_begin():
    """With the number of the bag, in the first of its cells; not those of another wall."""
    wall = bare_wall()
    told = counted(wall)
    made = {"name": "course", "parts": ()}
    kits = [
        Kit(number=1, wall="plain", cells=((2, 1), (3, 1)), **made),
        Kit(number=2, wall="another", cells=((1, 1),), **made),
        Kit(number=3, wall="plain", cells=(), **made),
    ]
    subject = subjects(told, mounted(told), None, kits)[0]
    sheet = paper_sheets(subject, "A4")[0]

    said = [mark for mark in sheet.marks if isinstance(mark, Text) and "kit" in mark.text]
    assert [mark.text for mark in said] == ["kit 1"]
    ratio = 5  # the scale that the sheet states
    assert f"1:{ratio} on A4" in " ".join(m.text for m in sheet.marks if isinstance(m, Text))
    rim = next(m for m in sheet.marks if isinstance(m, Box) and m.style == "wall")
    assert 120 < (said[0].x - rim.x) * ratio < 220
    assert 15 < (said[0].y - rim.y) * ratio < 115


def test_texts_of_a_wall_of_24_by_12_keep_clear_of_each_other(big):
    """No two texts of the drawing overlap, on paper and on the screen."""
    cells = [(cell.column, cell.row) for cell in big.panelling.cells]
    made = {"name": "bag", "wall": big.name, "parts": ()}
    kits = tuple(Kit(number=n, cells=(cell,), **made) for n, cell in enumerate(cells, start=1))
    big = replace(big, kits=kits)
    for sheet in (screen_sheet(big), paper_sheets(big, "A4")[0]):
        boxes = []
        for mark in sheet.marks:
            if isinstance(mark, Text):
                # drawn letters are about nine tenths of our generous guess, 0.7 high
                (x0, y0), (x1, y1) = ends_of(replace(mark, text=mark.text))
                middle_x, half = (x0 + x1) / 2, 0.45 * abs(x1 - x0)
                low, high = min(y0, y1) + 0.25 * mark.size, max(y0, y1) - 0.05 * mark.size
                if mark.turned:
                    middle_x, half = (x0 + x1) / 2, 0.4 * abs(x1 - x0)
                boxes.append((mark.text, middle_x - half, middle_x + half, low, high))
        for index, (text, left, right, low, high) in enumerate(boxes):
            for other, o_left, o_right, o_low, o_high in boxes[index + 1 :]:
                apart = right <= o_left or o_right <= left or high <= o_low or o_high <= low
                assert apart, (text, other, sheet.width)


@pytest.mark.parametrize(
    "name",
    [HOSTILE, "w" * 3000, "wall 🔧 東側 стена", "\x00\x07\u202e", "=cmd|'/c calc'!A0", "%%c"],
)
def test_any_name_can_be_drawn(name):
    """Of a wall, a cut-out, an accessory: escaped, shortened, and nothing lost of the drawing."""
    cut = CutOut(name=name, kind="other", x_mm=210, y_mm=110, width_mm=180, height_mm=90)
    wall = WallShape(
        name=name,
        width_mm=640,
        height_mm=430,
        cut_outs=(cut,),
        hung=(Hung(thing=name, cell=(1, 1)),),
    )
    subject = subject_of(wall)

    root = ET.fromstring(elevation_svg(subject, own_style=True))
    assert not list(root.iter(f"{SVG}script"))
    for sheet in (screen_sheet(subject),):
        for mark in sheet.marks:
            assert all(-0.01 <= x <= sheet.width + 0.01 for x, _ in ends_of(mark)), mark
    with pdfplumber.open(io.BytesIO(elevation_pdf(subject, "A4"))) as pdf:
        assert all(char["x1"] <= pdf.pages[0].width for char in pdf.pages[0].chars)


def test_a_huge_wall_stays_small_and_says_what_is_not_drawn():
    """200 by 200 cells: lines joined, parts and screws left to the tables."""
    subject = subject_of(bare_wall("hall", 20_000.0, 20_000.0))

    text, pdf = elevation_svg(subject, own_style=True), elevation_pdf(subject, "A4")

    assert len(text) < 200_000
    assert len(pdf) < 200_000
    assert "not drawn one by one" in text
    assert "40000 cells" in text
