"""YAML is read exactly, or refused with the line to look at."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.document import parse_yaml, read_yaml
from planner.document.yaml_text import NODES_MAX
from planner.errors import InputError, Problem


def data_of(text: str) -> dict[str, object]:
    return parse_yaml(text, file="a.yaml").data


def refusal_or_nothing(text: str) -> str:
    """Return the refusal of a text, or "" if it is read; anything else raised is a bug."""
    try:
        data_of(text)
    except InputError as error:
        return str(error)
    return ""


def problem_of(text: str) -> Problem:
    with pytest.raises(InputError) as caught:
        parse_yaml(text, file="a.yaml")
    (problem,) = caught.value.problems
    return problem


# YAML 1.2.2, chapter 10.3.2, table of the core schema's tag resolution, and example 10.9.
CORE_SCALARS = [
    ("null", None),
    ("~", None),
    ("", None),
    ("true", True),
    ("True", True),
    ("FALSE", False),
    ("0", 0),
    ("0o7", 7),
    ("0x3A", 58),
    ("-19", -19),
    ("0.", 0.0),
    ("-0.0", 0.0),
    (".5", 0.5),
    ("+12e03", 12000.0),
    ("-2E+05", -200000.0),
]
# What YAML 1.1 would have read as a boolean, a base-60 number, a date or an octal.
TEXT_IN_CORE = ["yes", "no", "on", "off", "y", "N", "18:00", "1:30:00", "2026-11-27", "1_000", "<<"]


@pytest.mark.parametrize(("text", "value"), CORE_SCALARS)
def test_plain_scalars_follow_the_core_schema(text, value):
    """Each form of the table resolves to its type; 1 and true are told apart."""
    found = data_of(f"a: {text}")["a"]

    assert (found, type(found)) == (value, type(value))


@pytest.mark.parametrize("text", TEXT_IN_CORE)
def test_words_of_yaml_1_1_stay_text(text):
    """A switch called `on`, a time of day and a date are what they look like."""
    assert data_of(f"a: {text}")["a"] == text


@pytest.mark.parametrize("text", ["'1'", '"true"', "|\n  1\n", "!!str 1"])
def test_quoted_scalars_are_text(text):
    assert isinstance(data_of(f"a: {text}")["a"], str)


def test_keys_are_text_as_written():
    """A part may be called 3 or true."""
    assert data_of("3: a\ntrue: b\nno: c") == {"3": "a", "true": "b", "no": "c"}


def test_core_tags_are_taken_where_they_fit():
    assert data_of("a: !!int 3\nb: !!float 3\nc: !!seq [1]\nd: !!map {}\ne: ! 3") == {
        "a": 3,
        "b": 3.0,
        "c": [1],
        "d": {},
        "e": "3",
    }


plain_data = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(10**20), 10**20)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(st.characters(exclude_categories=["Cc", "Cs", "Cn", "Zl", "Zp"]), max_size=8),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(st.text("ab 01~", min_size=1).filter(str.strip), inner, max_size=3)
    ),
    max_leaves=8,
)


@settings(max_examples=50)
@given(data=st.dictionaries(st.text("abcdef", min_size=1), plain_data, max_size=3))
def test_json_is_yaml(data):
    """YAML 1.2.2, chapter 1.3: valid JSON is valid YAML (the writer is the standard library's)."""
    assert data_of(json.dumps(data, indent=1, ensure_ascii=False)) == data


def test_lines_lead_to_every_key_and_item():
    document = parse_yaml(
        "top:\n  part:\n    up: +z\n  list:\n    - a\n    - {b: 1,\n       c: 2}\n", file="a.yaml"
    )

    assert [document.line(place) for place in ("top", "top.part.up", "top.list[0]")] == [1, 3, 5]
    assert [document.line(f"top.list[1]{end}") for end in ("", ".b", ".c")] == [6, 6, 7]
    assert document.line("top.part.unknown.deeper[3]") == 2
    assert document.where("top.part.up") == "a.yaml:3"


def test_an_alias_repeats_a_value():
    assert data_of("a: &x {n: [1, 2]}\nb: *x\nc: &y 3\nd: *y") == {
        "a": {"n": [1, 2]},
        "b": {"n": [1, 2]},
        "c": 3,
        "d": 3,
    }


BAD = {
    "duplicate key": ("a: 1\nb: 2\na: 3", 3, "a second time (first in line 1)"),
    "duplicate inner key": ("a: {b: 1,\n  b: 2}", 2, "a second time (first in line 1)"),
    "infinity": ("a: 1\nb: [-.inf]", 2, "-.inf"),
    "not a number": ("a: .nan", 1, ".nan"),
    "beyond a double": ("a: 1e999", 1, "1e999"),
    "a number too long": (f"a: {'9' * 5000}", 1, "5000 digits"),
    "two documents": ("a: 1\n---\nb: 2", 2, "a second document"),
    "python tag": ("a: !!python/object/apply:os.system ['true']", 1, "!!python/object/apply"),
    "own tag": ("a: !hook 3", 1, "!hook"),
    "binary": ("a: !!binary aGk=", 1, "!!binary"),
    "date tag": ("a: !!timestamp 2026-11-27", 1, "!!timestamp"),
    "tag that does not fit": ("a: !!int three", 1, "!!int"),
    "set": ("a: !!set {b}", 1, "!!set"),
    "recursion": ("a: &x [1, *x]", 1, "holds itself"),
    "recursion in a mapping": ("a: &x {b: *x}", 1, "holds itself"),
    "unknown alias": ("a: *nobody", 1, ""),
    "list as key": ("? [1]\n: 2", 1, "as a key"),
    "mapping as key": ("? {a: 1}\n: 2", 1, "as a key"),
    "alias as key": ("a: &x b\n*x : 2", 2, "as a key"),
    "empty key": ("a: 1\n'': 2", 2, "an empty key"),
    "list at the top": ("- a\n- b", 1, "a list of 2"),
    "text at the top": ("hello", 1, "'hello'"),
    "only remarks": ("# nothing\n", 1, "nothing but remarks"),
    "tab": ("a:\n\tb: 1", 2, "a tab"),
    "open bracket": ("a: [1, 2\nb: 3", 2, "cannot read"),
    "open quote": ('a: "b\nc: 3\n', None, "cannot read"),
    "bad indentation": ("a: 1\n  b: 2", 2, "cannot read"),
    "unknown escape": ('a: "\\q"', 1, "cannot read"),
    "control character": ("a: 1\nb: \x07", 2, "U+0007"),
    "later version": ("%YAML 9.0\n---\na: 1", 1, "cannot read"),
    "deep": ("a: " + "[" * 70 + "]" * 70, 1, "nesting deeper"),
    "very deep": ("a: " + "[" * 100_000, 1, "nest"),
    "deep by aliases": (
        "\n".join(
            [f"a0: &a0 {'[' * 20}{']' * 20}"]
            + [f"a{k}: &a{k} {'[' * 20}*a{k - 1}{']' * 20}" for k in range(1, 5)]
        ),
        3,
        "nesting deeper",
    ),
    "growing aliases": (
        "\n".join(
            ["a0: &a0 [1, 1, 1, 1, 1, 1, 1, 1, 1]"]
            + [f"a{k}: &a{k} [{', '.join([f'*a{k - 1}'] * 9)}]" for k in range(1, 12)]
        ),
        6,
        "aliases written out",
    ),
}


@pytest.mark.parametrize("case", BAD)
def test_what_cannot_be_read_exactly_is_refused(case):
    """One problem, with the line (where the parser knows it) and what was found there."""
    text, line, found = BAD[case]

    problem = problem_of(text)

    assert problem.file == "a.yaml"
    assert line is None or problem.line == line
    assert found in problem.found
    assert problem.expected
    assert problem.remedy
    assert "\n" not in str(problem)


def test_an_honest_large_file_is_read():
    """The limit on values is far above what a person writes, and counts them rightly."""
    few = data_of("a: &x [" + "1," * 999 + "]\nb: [" + "*x," * (NODES_MAX // 1000 - 2) + "]")

    assert len(few["b"]) == NODES_MAX // 1000 - 2
    assert (
        "more than"
        in problem_of("a: &x [" + "1," * 999 + "]\nb: [" + "*x," * (NODES_MAX // 1000) + "]").found
    )


@given(text=st.text(max_size=200))
def test_no_text_raises_anything_else(text):
    assert "\n" not in refusal_or_nothing(text)


@given(text=st.text("ab:{}[]&*!|>-?#'\"\n\t ,1.%<", max_size=60))
def test_no_syntax_raises_anything_else(text):
    assert "\n" not in refusal_or_nothing(text)


def test_the_pure_python_reader_agrees(monkeypatch):
    """Machines whose PyYAML lacks libyaml read the same data and refuse the same files."""
    text = "a: [1, on, {b: .5}]\nc: &x !!str 3\nd: *x\n"
    fast = data_of(text)
    monkeypatch.setattr("planner.document.yaml_text._LOADER", yaml.SafeLoader)

    assert data_of(text) == fast
    for bad, line, found in BAD.values():
        problem = problem_of(bad)
        assert found in problem.found
        assert line is None or problem.line == line


def test_a_byte_order_mark_is_no_fault(tmp_path):
    path = tmp_path / "a.yaml"
    path.write_bytes(b"\xef\xbb\xbfa: 1\r\nb: 2\r\n")

    assert read_yaml(path).data == {"a": 1, "b": 2}


def test_the_file_is_named_as_given(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("sub").mkdir()
    Path("sub/a.yaml").write_text("a: [")

    with pytest.raises(InputError, match=r"^sub/a.yaml:1: "):
        read_yaml(Path("sub/a.yaml"))
