"""Files that mean harm, or are something else: one sentence, no traceback, no hang."""

from __future__ import annotations

import os
import random
import threading

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.errors import InputError
from planner.settings.reader import read_foreign
from planner.settings.reader.read import read_text_of
from planner.settings.reader.source import LIMIT_MB

BOMB = (
    '<!DOCTYPE s [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;"><!ENTITY c "&b;&b;&b;&b;">]>\n'
    "<s><layerHeight>&c;</layerHeight></s>"
)
OUTSIDE = '<!DOCTYPE s [<!ENTITY x SYSTEM "file:///etc/passwd">]><s><walls>&x;</walls></s>'
ALIASES = "a: &a [1, 1]\n" + "".join(
    f"{b}: &{b} [*{a}, *{a}, *{a}, *{a}, *{a}, *{a}, *{a}, *{a}]\n"
    for a, b in zip("abcdefgh", "bcdefghi", strict=True)
)
REFUSED = {
    "entities": (BOMB, "entities"),
    "an entity from outside": (OUTSIDE, "entities"),
    "deep JSON": ("[" * 100_000, "nested deeper"),
    "deep JSON that ends": ("[" * 500 + "]" * 500, "nested deeper"),
    "deep XML": ("<a>" * 10_000, "nesting deeper"),
    "deep YAML": ("a:\n" + "".join(" " * n + "b:\n" for n in range(1, 200)), "nesting deeper"),
    "YAML aliases": (ALIASES, "more than 200000 values"),
    "broken JSON": ('{"a": 1,, "b": 2}', "JSON"),
    "a key twice": ('{"a": 1, "a": 2}', "twice"),
    "broken XML": ("<a><b></a>", "what XML cannot read"),
    "a long line": ("layer height = 0.2\nx = " + "y" * 60_000, "a line of 60004 characters"),
    "deep TOML": ("a." * 20_000 + "b = 1\n", "without keys and values"),
    "prose": ("Nothing in here is a setting.\nIt is a letter.\n", "without keys and values"),
    "nothing": ("", "an empty file"),
    "blanks": (" \n\t\n", "an empty file"),
    "noise": (b"\x7fELF\x00\x01\x02\x03" * 100, "no text"),
    "a picture": (b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR" * 10, "no text"),
    "UTF-16 without its mark": ("layer height = 0.2\n".encode("utf-16-le"), "save it as UTF-8"),
    "half of UTF-16": ("layer height = 0.2".encode("utf-16")[:-1], "marked as utf-16"),
    "a control sign": ("layer\x1b[31m = 0.2\n", "no text"),
    "too many keys": ("".join(f"k{n} = 1\n" for n in range(20_001)), "20001 keys"),
}


@pytest.mark.parametrize("what", REFUSED)
def test_it_is_refused_in_one_sentence(what):
    content, words = REFUSED[what]
    with pytest.raises(InputError) as caught:
        read_text_of(content if isinstance(content, bytes) else content.encode(), "evil.txt")

    (problem,) = caught.value.problems
    assert words in str(problem)
    assert str(problem).startswith("evil.txt")
    assert len(str(problem)) < 500


def test_bytes_at_random_are_refused():
    noise = random.Random(7).randbytes(20_000)

    with pytest.raises(InputError, match="no text"):
        read_text_of(noise, "evil.txt")


def test_a_giant_is_refused_without_being_read(tmp_path):
    """A sparse file of a gigabyte, one line: no more than the limit is read."""
    path = tmp_path / "giant.ini"
    with path.open("wb") as stream:
        stream.write(b"layer height = ")
        stream.truncate(1_000_000_000)

    with pytest.raises(InputError, match=f"more than {LIMIT_MB:g} MB"):
        read_foreign(path)


def test_a_giant_line_in_a_toolpath_is_passed_over(tmp_path):
    path = tmp_path / "giant.gcode"
    path.write_bytes(b"G28\nG1 X1\n; walls = 3\n;" + b"x" * 12_000_000 + b"\n; infill = 20 %\n")

    assert {key: each.value for key, each in read_foreign(path).read.items()} == {
        "walls": 3,
        "infill": 0.2,
    }


def test_a_pipe_is_refused_and_not_waited_for(tmp_path):
    path = tmp_path / "pipe.ini"
    os.mkfifo(path)
    said = []

    def read():
        try:
            read_foreign(path)
        except InputError as error:
            said.append(str(error))

    reader = threading.Thread(target=read, daemon=True)
    reader.start()
    reader.join(timeout=20)
    assert said
    assert "a device or a pipe" in said[0]


@pytest.mark.parametrize("name", ["none.ini", "", "a\0b.ini"])
def test_what_is_not_there_is_said(name, tmp_path):
    with pytest.raises(InputError):
        read_foreign(tmp_path / name)


def outcome(content):
    """Return the lines of what was read, and the problems."""
    try:
        reading = read_text_of(content, "any.txt")
    except InputError as error:
        return [], error.problems
    return [each.entry.line for each in reading.read.values()], ()


SIGNS = st.text(
    alphabet=st.sampled_from(list("layer height=0.2,;:[]{}<>/&\"'-#\n\t %mm°\\0_!*|é\ufeffＡ")),
    max_size=200,
)


@settings(max_examples=150, deadline=None)
@given(text=st.one_of(SIGNS, st.text(max_size=100)))
def test_any_text_is_read_or_refused(text):
    """Nothing but one InputError comes out, and what is read stands on a line of the text."""
    read, problems = outcome(text.encode("utf-8", "surrogatepass"))

    assert len(problems) <= 1
    assert all(1 <= line <= text.count("\n") + text.count("\r") + 1 for line in read)


@settings(max_examples=100, deadline=None)
@given(content=st.binary(max_size=200))
def test_any_bytes_are_read_or_refused(content):
    """Whatever they are, there is one answer or one sentence."""
    _, problems = outcome(content)

    assert len(problems) <= 1
