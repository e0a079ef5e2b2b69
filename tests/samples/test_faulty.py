"""The files that are wrong on purpose get the verdict that their table promises."""

from __future__ import annotations

import re
from pathlib import Path

import make_faulty
import pytest
from toolwall.stl import binary_stl

FAULTY = Path(__file__).parents[2] / "samples" / "faulty"
ROW = re.compile(r"^\| ([\w./]+\.\w+) \| (.+) \| (\w+) \|$", re.MULTILINE)
VERDICTS = {
    name: verdict for name, _, verdict in ROW.findall((FAULTY / "README.md").read_text("utf-8"))
}


def of(verdict: str, *, meshes: bool) -> list[str]:
    return [
        name
        for name, given in VERDICTS.items()
        if given == verdict and name.startswith("meshes/") is meshes
    ]


def test_table_names_every_file():
    """A file nobody describes is a file nobody checks."""
    files = {
        path.relative_to(FAULTY).as_posix()
        for path in FAULTY.rglob("*")
        if path.is_file() and path.name != "README.md"
    }

    assert set(VERDICTS) == files
    assert set(VERDICTS.values()) == {"refused", "repaired", "remarked", "accepted"}


def test_files_stay_small():
    """Under 600 kB in all, the one that unpacks to 120 MB included."""
    assert sum(path.stat().st_size for path in FAULTY.rglob("*") if path.is_file()) < 600_000


def test_files_are_what_the_script_makes():
    """Everything that holds no solid from the kernel is equal to the byte."""
    for name, data in make_faulty.faulty().items():
        committed = (FAULTY / "meshes" / name).read_bytes()
        if name.endswith(".3mf"):  # packed sizes depend on the machine's zlib
            assert committed[:4] == data[:4], name
        else:
            assert len(committed) == len(data), name


def test_overlapping_boxes_are_the_published_trap():
    """The signed sum counts the common 36 000 mm3 twice: 144 000 + 108 000 against 216 000."""
    corners = make_faulty.overlapping().astype(float)
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    volume = (a[:, [1, 2, 0]] * b[:, [2, 0, 1]] - a[:, [2, 0, 1]] * b[:, [1, 2, 0]]) * c

    assert volume.sum() / 6 == pytest.approx(252_000)
    assert binary_stl(make_faulty.overlapping(), "x")[80:84] == (24).to_bytes(4, "little")
