"""Orientations on disk: found again by content, and never in the way."""

from __future__ import annotations

import json
from dataclasses import replace

import manifold3d
import numpy as np
import pytest

from planner.job.model import Face
from planner.strength import orient
from planner.strength.cache import key, load, oriented
from planner.strength.hours import Pace

PACE = Pace(
    layer_mm=0.2,
    line_mm=0.45,
    walls=3,
    top_layers=4,
    bottom_layers=4,
    infill=0.2,
    layer_time_min_s=5.0,
    outer_mm_s=40.0,
    inner_mm_s=60.0,
    solid_mm_s=60.0,
    sparse_mm_s=80.0,
    support_mm_s=60.0,
    acceleration_mm_s2=1500.0,
)
UP = (1.0, 0.0, 0.0)


@pytest.fixture(name="place")
def place_(tmp_path, monkeypatch):
    monkeypatch.setenv("PLATEWRIGHT_CACHE", str(tmp_path / "kept"))
    return tmp_path / "kept"


@pytest.fixture(name="asked")
def asked_(solid_of, load_case, plastic):
    bar = solid_of(manifold3d.Manifold.cube([30, 8, 6]))
    return bar, [load_case], plastic


@pytest.fixture(name="load_case")
def load_case_(load):
    return load([0, 0, -20])


@pytest.fixture(name="calls")
def calls_(monkeypatch):
    """Count how often a part is really worked out, on few bricks."""
    made = []
    real = orient.orient
    monkeypatch.setattr(
        orient,
        "orient",
        lambda *given, **more: made.append(given) or real(*given, most_bricks=300, **more),
    )
    return made


def told(found):
    """Return everything that is told of an orientation, in one comparable form."""
    painted = found.painted
    return (
        found.directions,
        (found.as_given, found.practical, found.lost, found.cost, found.reason),
        (found.section, found.warnings, found.resolution, found.moves_mm, found.assumptions),
        [array.tobytes() for array in (painted.facets_mm, painted.given_mpa)],
        (painted.practical_mpa.tobytes(), painted.facets_mm.dtype),
    )


def test_the_same_question_is_worked_out_once(place, asked, calls):
    """The second answer comes from disk, the same to the last bit, and without the fields."""
    one, other = (oriented(*asked, up=UP, pace=PACE) for _ in range(2))

    assert len(calls) == 1
    assert told(one) == told(other)
    assert one.fields == other.fields == ()
    assert other.as_given.name == "+x"
    assert other.as_given.time_s > 0


def test_whatever_decides_the_answer_decides_the_name(asked, solid_of):
    """Mesh, load, material, direction, faces in sight and pace; not the place in a file."""
    solid, (case,), material = asked
    other = solid_of(manifold3d.Manifold.cube([30, 8, 6.5]))
    asks = {"up": UP, "visible": (), "pace": PACE}
    names = {
        key(solid, [case], material, **asks),
        key(other, [case], material, **asks),
        key(solid, [replace(case, force_n=(0.0, 0.0, -21.0))], material, **asks),
        key(solid, [replace(case, sustained=True)], material, **asks),
        key(solid, [case, case], material, **asks),
        key(solid, [case], replace(material, infill=0.3), **asks),
        key(solid, [case], material, **{**asks, "up": (0.0, 0.0, 1.0)}),
        key(solid, [case], material, **{**asks, "visible": (Face(axis="+z"),)}),
        key(solid, [case], material, **{**asks, "pace": replace(PACE, walls=4)}),
    }

    assert len(names) == 9
    moved = replace(case, where="elsewhere.yaml:99")
    renamed = replace(solid, name="another")
    assert key(renamed, [moved], material, **asks) == key(solid, [case], material, **asks)


def changed(file, how):
    """Spoil an entry."""
    if how == "cut short":
        file.write_bytes(file.read_bytes()[:-200])
        return
    with np.load(file) as archive:
        arrays = {name: archive[name] for name in archive.files}
    words = json.loads(arrays["words"].tobytes())
    if how == "a number that is none":
        arrays["given_mpa"] = arrays["given_mpa"] * np.nan
    elif how == "too few facets":
        arrays["facets_mm"] = arrays["facets_mm"][1:]
    elif how == "no words":
        arrays["words"] = arrays["words"][:-5]
    else:
        words.update({"a direction too far": {"as_given": 10**6}, "a list": {"directions": 3}}[how])
        arrays["words"] = np.frombuffer(json.dumps(words).encode(), dtype=np.uint8)
    np.savez(file, **arrays)


SPOILT = ["cut short", "a number that is none", "too few facets", "no words"]
SPOILT += ["a direction too far", "a list"]


@pytest.mark.parametrize("how", SPOILT)
def test_a_spoilt_entry_is_worked_out_anew(place, asked, calls, how):
    """It counts as missing and is replaced."""
    one = oriented(*asked, up=UP)
    (file,) = place.iterdir()
    changed(file, how)

    assert load(file) is None
    other = oriented(*asked, up=UP)

    assert len(calls) == 2
    assert told(one) == told(other)
    assert load(file) is not None


def test_nothing_is_kept_where_none_is_wanted(tmp_path, monkeypatch, asked, calls):
    """An empty name, or a folder that cannot be: worked out every time."""
    (tmp_path / "taken").write_text("a file")
    for named in ("", str(tmp_path / "taken")):
        monkeypatch.setenv("PLATEWRIGHT_CACHE", named)
        assert oriented(*asked, up=UP).as_given.name == "+x"

    assert len(calls) == 2
    assert [file.name for file in tmp_path.iterdir()] == ["taken"]
