"""Values and names in messages are short, and looking for the nearest name stays quick."""

from __future__ import annotations

from planner.document import wording
from planner.document.wording import CANDIDATES_MAX, COMPARED_MAX, nearest


def test_among_very_many_names_none_is_compared(monkeypatch):
    def never(*_args, **_kwargs):
        raise AssertionError

    monkeypatch.setattr(wording, "get_close_matches", never)
    many = [f"name {i}" for i in range(CANDIDATES_MAX + 1)]

    assert nearest("nam 1", many) is None
    assert nearest("NAME 1", many) == "name 1"
    assert nearest("x" * (COMPARED_MAX + 1), ["x" * COMPARED_MAX]) is None


def test_the_nearest_of_a_few_names_is_found():
    assert nearest("wals", ["infill", "walls"]) == "walls"
    assert nearest("INFIL", ["infill", "walls"]) == "infill"
    assert nearest("colour", ["infill", "walls"]) is None
