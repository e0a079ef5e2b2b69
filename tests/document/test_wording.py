"""Values and names in messages are short, and looking for the nearest name stays quick."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.document import Form, Name, parse_json, read_json, read_yaml, validate, wording
from planner.document.wording import (
    CANDIDATES_MAX,
    COMPARED_MAX,
    LISTED_MAX,
    listed,
    nearest,
    shown,
)
from planner.errors import FIELD_MAX, InputError, Problem, printable


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


def test_a_long_list_of_names_is_cut_and_says_so():
    names = [f"bench {i}" for i in range(500)]

    assert listed(names).endswith(f", bench {LISTED_MAX - 1} and {500 - LISTED_MAX} more")


def test_keys_of_a_mapping_are_shown_printable_and_short():
    assert shown({"a\nb\x1b[1m": 1, "x" * 99: 2}) == (
        "a mapping (a\\x0ab\\x1b[1m, " + "x" * 29 + "…)"
    )


@given(st.text(st.characters(codec=None, categories=None), max_size=40))
def test_whatever_a_fault_holds_is_one_line_that_every_encoding_of_unicode_takes(text):
    """Lone surrogates too, which no encoding takes as they are."""
    line = str(Problem(file=text, place=text, found=text, expected=text, remedy=text))

    assert line.isprintable()
    assert line.encode("utf-8").decode("utf-8") == line
    assert printable(printable(text)) == printable(text)


def test_each_piece_of_a_fault_is_clipped():
    long = "x" * 5000
    line = str(Problem(file=long, place=long, found=long, expected=long, remedy=long))

    assert len(line) < 5 * FIELD_MAX + 50
    assert line.count("…") == 5


def test_a_file_name_that_is_not_utf8_is_told_by_its_bytes(tmp_path):
    """The document's own name is safe too: "file:line" goes from it into plans."""
    folder = Path(os.fsdecode(os.fsencode(tmp_path) + b"/b\xffd"))
    folder.mkdir()
    for reader, text in ((read_yaml, "a: 1\nb: 2"), (read_json, '{"a": 1,\n"b": 2}')):
        path = folder / "mini"
        path.write_text(text)

        document = reader(path)

        assert document.file == f"{tmp_path}/b\\xffd/mini"
        assert document.where("b").encode().endswith(b"/b\\xffd/mini:2")


@pytest.mark.parametrize("name", ["a\nb", "a\x1b[31m", "a\u202eb", " a", "a/b", "a\\b"])
def test_a_name_fits_into_a_line_and_a_file_name(name):
    with pytest.raises(InputError, match="expected a name without slashes, line breaks or spaces"):
        validate(Named, parse_json(json.dumps({"id": name}), file="a.json"))


def test_a_lone_surrogate_is_refused_in_our_words():
    with pytest.raises(InputError) as caught:
        validate(Named, parse_json('{"id": "\\ud800x"}', file="a.json"))

    (problem,) = caught.value.problems
    assert str(problem) == (
        "a.json:1: id: found '\\ud800x', expected text that can be written as UTF-8 (no lone "
        "surrogates); write the character itself, in place of its number"
    )


class Named(Form):
    """A thing with a name."""

    id: Name
