"""The folder of the walls: complete or untouched, the same bytes every time."""

import subprocess
import sys
from dataclasses import replace

import pytest

from planner.errors import InputError
from planner.report.wall.write import LISTED, drawings, template_words, write_wall
from planner.report.write import MANIFEST, write_folder

from .walls import HOSTILE, bare_wall, big_wall, counted, mounted, mounting


def names_in(folder):
    return sorted(path.name for path in folder.iterdir())


def put(folder, *walls, **how):
    told = counted(*walls)
    return write_wall(told, mounted(told), folder, **how)


def test_every_wall_has_its_drawings(tmp_path):
    """Elevation as SVG and PDF, DXF, template; the places of all screws in one table."""
    paths = put(tmp_path / "out", bare_wall("north"), bare_wall("south"))

    expected = ["fixings.csv"]
    for wall in ("north", "south"):
        expected += [f"wall-{wall}.{kind}" for kind in ("svg", "pdf", "dxf")]
        expected.append(f"template-{wall}.pdf")
    assert sorted(path.name for path in paths) == sorted(expected)
    assert names_in(tmp_path / "out") == sorted([*expected, LISTED])


def test_names_that_would_meet_get_files_of_their_own(tmp_path):
    """Two walls of one name, two that differ by a slash, one without letters, a very long one."""
    walls = ["a/b", "a b", "A-B", "a/b", "!", "", HOSTILE, "../../etc", "x" * 5000, "CON"]
    paths = put(tmp_path, *(bare_wall(name, 230, 130) for name in walls))

    assert len({path.name.lower() for path in paths}) == 1 + 4 * len(walls)
    assert all(path.parent == tmp_path and path.is_file() for path in paths)
    assert all(len(path.name) < 120 for path in paths)


def test_a_second_run_replaces_its_own_files_and_clears_walls_that_are_gone(tmp_path):
    """Also those on other paper."""
    put(tmp_path, bare_wall("north"), bare_wall("south"))
    before = (tmp_path / "template-north.pdf").read_bytes()

    put(tmp_path, bare_wall("north"), paper="Letter")

    assert "wall-south.pdf" not in names_in(tmp_path)
    assert "template-south.pdf" not in names_in(tmp_path)
    assert (tmp_path / "template-north.pdf").read_bytes() != before


def test_a_file_of_the_user_is_never_replaced_unasked(tmp_path):
    """One that was there, and one of ours that was edited since."""
    theirs = tmp_path / "fixings.csv"
    theirs.write_text("mine")

    with pytest.raises(InputError, match=r"fixings\.csv"):
        put(tmp_path, bare_wall())
    assert names_in(tmp_path) == ["fixings.csv"]
    assert theirs.read_text() == "mine"

    put(tmp_path, bare_wall(), force=True)
    (tmp_path / "wall-plain.dxf").write_text("edited")
    with pytest.raises(InputError, match=r"wall-plain\.dxf"):
        put(tmp_path, bare_wall())


def test_a_plan_in_the_same_folder_keeps_its_files(tmp_path):
    """Each command knows what it wrote itself, and clears away nothing else."""
    write_folder({"plates/P1.3mf": b"plate", "plan.json": b"{}"}, tmp_path, force=False)

    put(tmp_path, bare_wall())
    write_folder({"plates/P1.3mf": b"new", "plan.json": b"{}"}, tmp_path, force=False)
    put(tmp_path, bare_wall())

    assert (tmp_path / "plates/P1.3mf").read_bytes() == b"new"
    assert {MANIFEST, LISTED} <= set(names_in(tmp_path))


_SCRIPT = """
import sys
from hashlib import sha256
sys.path.insert(0, {folder!r})
from walls import big_wall, bare_wall, counted, mounted
from planner.report.wall.write import drawings, render_wall
told = counted(big_wall(width_mm=1000.0, height_mm=620.0), bare_wall("other"))
screws = mounted(told)
files = render_wall(drawings(told, screws, stage_of={{"key": 2}}), screws)
print({{name: sha256(content).hexdigest() for name, content in files.items()}})
"""


def test_the_same_walls_give_the_same_bytes(request):
    """In two processes whose sets have other orders: no clock, no chance."""
    script = _SCRIPT.format(folder=str(request.path.parent))
    said = {
        subprocess.run(
            [sys.executable, "-c", script],
            env={"PYTHONHASHSEED": seed, "PATH": "", "TZ": zone},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed, zone in (("1", "UTC"), ("2", "Asia/Tokyo"))
    }

    assert len(said) == 1
    assert said.pop().count("'") == 4 * 9


def test_pages_are_counted_before_they_are_printed():
    """One sentence per wall, whether it has tiles, too many, or none."""
    told = counted(big_wall(), bare_wall(), bare_wall("hall", 12_000, 8_000))
    screws = mounted(told)
    screws = replace(
        screws, fixings=tuple(fixing for fixing in screws.fixings if fixing.wall != "plain")
    )
    big, plain, hall = template_words(drawings(told, screws, paper="Letter"))

    assert "pages of Letter: this overview and " in big
    assert "without a hole left out" in big
    assert plain == "plain: no fixing, so no template to drill by"
    assert "none is drawn" in hall


def test_walls_without_any_screw_are_written_too(tmp_path):
    """The table has its head only."""
    told = counted(bare_wall())
    write_wall(told, mounting(()), tmp_path)

    assert (tmp_path / "fixings.csv").read_text().strip() == "number,wall,x_mm,y_mm,stud,note"
