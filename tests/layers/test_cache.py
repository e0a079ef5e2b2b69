"""Layerings on disk: found again by content, and never in the way."""

from __future__ import annotations

import pickle

import numpy as np
import pytest
from manifold3d import Manifold

from planner.layers import cache
from planner.layers.cache import key, laid, load
from planner.layers.lay import lay
from planner.layers.timing import time_on
from planner.settings.model import Feature


@pytest.fixture(name="place")
def place_(tmp_path, monkeypatch):
    monkeypatch.setenv("PLATEWRIGHT_CACHE", str(tmp_path / "kept"))
    return tmp_path / "kept"


@pytest.fixture(name="stand", scope="module")
def stand_(posed):
    return posed(Manifold.cube((12, 9, 2)))


def count_laid(monkeypatch):
    """Count how often the part is really laid."""
    calls = []
    monkeypatch.setattr(cache, "lay", lambda *given: calls.append(given) or lay(*given))
    return calls


def same(one, other, settings, printer):
    np.testing.assert_array_equal(one.volume_mm3, other.volume_mm3)
    np.testing.assert_array_equal(one.paths.points_mm, other.paths.points_mm)
    first, second = (time_on(layering, settings, printer) for layering in (one, other))
    assert first.middle_s == second.middle_s
    assert first.reasons == second.reasons


def test_the_same_part_is_laid_once(place, stand, settings, printer, monkeypatch):
    """The second answer comes from disk and is the same to the last bit."""
    calls = count_laid(monkeypatch)
    wanted = settings(infill_pattern="stars")

    one, other = laid(stand, wanted), laid(stand, wanted)

    assert len(calls) == 1
    assert [file.suffix for file in place.iterdir()] == [".npz"]
    same(one, other, wanted, printer())


def test_another_part_or_setting_is_another_entry(posed, stand, settings):
    """Whatever decides the paths decides the name; the settings' own name does not."""
    names = {
        key(stand, settings()),
        key(posed(Manifold.cube((12, 9, 2.2))), settings()),
        key(stand, settings(infill=0.21)),
        key(stand, settings(walls=2)),
        key(stand, settings(speed_mm_s=dict.fromkeys(Feature, 61.0))),
    }

    assert len(names) == 5
    assert key(stand, settings()) == key(stand, settings(name="other", origin={"walls": "x:1"}))


def spoil(file, how):
    whole = file.read_bytes()
    if how == "empty":
        file.write_bytes(b"")
    elif how == "cut short":
        file.write_bytes(whole[: len(whole) // 2])
    elif how == "noise":
        file.write_bytes(np.random.default_rng(3).bytes(5000))
    elif how == "a flipped byte":
        middle = len(whole) // 2
        file.write_bytes(whole[:middle] + bytes([whole[middle] ^ 255]) + whole[middle + 1 :])
    else:
        with np.load(file) as archive:
            arrays = {name: archive[name] for name in archive.files}
        name, value = {
            "a missing array": ("code", None),
            "an object": ("code", np.array([{}], dtype=object)),
            "a short array": ("code", arrays["code"][1:]),
            "a number that is none": ("points_mm", arrays["points_mm"] * np.nan),
            "a kind that is not there": ("kind", arrays["kind"] + 1000),
        }[how]
        arrays = (
            {**arrays, name: value}
            if value is not None
            else {other: arrays[other] for other in arrays if other != name}
        )
        np.savez(file, **arrays)


SPOILT = ["empty", "cut short", "noise", "a flipped byte", "a missing array", "an object"]
SPOILT += ["a short array", "a number that is none", "a kind that is not there"]


@pytest.mark.parametrize("how", SPOILT)
def test_a_spoilt_entry_is_passed_over_and_written_anew(place, stand, settings, monkeypatch, how):
    """It counts as missing: the part is laid again, and found the next time."""
    calls = count_laid(monkeypatch)
    one = laid(stand, settings())
    (file,) = place.iterdir()
    spoil(file, how)

    assert load(file) is None
    other = laid(stand, settings())
    laid(stand, settings())

    assert len(calls) == 2
    np.testing.assert_array_equal(one.volume_mm3, other.volume_mm3)


def test_nothing_is_kept_where_nothing_can_be_written(tmp_path, stand, settings, monkeypatch):
    """The folder's name belongs to a file; or none is wanted: the part is laid all the same."""
    (tmp_path / "taken").write_text("a file")
    for named in (str(tmp_path / "taken"), str(tmp_path / "taken" / "below"), ""):
        monkeypatch.setenv("PLATEWRIGHT_CACHE", named)
        assert laid(stand, settings()).layers == 10
    assert [file.name for file in tmp_path.iterdir()] == ["taken"]


def test_a_write_that_fails_leaves_nothing_behind(place, stand, settings, monkeypatch):
    """A full disk: no half-written file stays, and the answer comes all the same."""

    def full(*given, **arrays):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(np, "savez", full)

    assert laid(stand, settings()).layers == 10
    assert list(place.iterdir()) == []


def test_old_entries_make_room(place, stand, settings, monkeypatch):
    """With room for two, the third drives out the first."""
    first = place / (key(stand, settings(walls=1)) + ".npz")
    laid(stand, settings(walls=1))
    monkeypatch.setattr(cache, "MOST_BYTES", 2.5 * first.stat().st_size)
    for walls in (2, 3):
        laid(stand, settings(walls=walls))

    assert len(list(place.iterdir())) == 2
    assert not first.exists()


def test_the_folder_is_in_the_users_cache_unless_named(monkeypatch, tmp_path):
    """$PLATEWRIGHT_CACHE first, then ~/.cache/platewright."""
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.delenv("PLATEWRIGHT_CACHE", raising=False)

    assert cache.folder() == tmp_path / ".cache" / "platewright"


def test_a_layering_travels_between_processes(stand, settings, printer):
    """Pickled and back, it is timed the same: workers can lay for the parent."""
    one = lay(stand, settings())
    other = pickle.loads(pickle.dumps(one))

    same(one, other, settings(), printer())
    time = time_on(one, settings(), printer())
    assert pickle.loads(pickle.dumps(time)).middle_s == time.middle_s
