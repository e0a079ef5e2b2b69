"""A form that does not fit is refused with every fault at once, in the user's words."""

from __future__ import annotations

from collections.abc import Mapping  # noqa: TC003 (the form needs it at run time)
from typing import Annotated, Literal

import pytest
from pydantic import Field, field_validator, model_validator

from planner.document import Form, Words, fault, parse_json, parse_yaml, validate
from planner.document.check import PROBLEMS_MAX, in_order, validate_partly
from planner.errors import InputError, Problem


class Inner(Form):
    """A form with one field of each kind."""

    walls: int = Field(3, ge=0, le=50, description="Number of walls.")
    infill: Annotated[float, Field(ge=0, le=1), Words(remedy="write 0.15 for 15 %")] = 0.1
    layer_mm: float = Field(gt=0, lt=2, description="Height of a layer.")
    price_per_kg: float = Field(0, ge=0)
    limit_g: float | None = Field(None, le=10)
    bead: Literal["stadium", "rectangle"] = "stadium"
    support: bool = False
    word: str = Field("x", min_length=1, max_length=5)
    points: tuple[tuple[float, float], ...] = ()
    weights: Mapping[str, float] = {}
    tags: Annotated[tuple[str, ...], Field(max_length=2), Words(expected="tags")] = ()
    even: int = 2

    @field_validator("even")
    @classmethod
    def _is_even(cls, value: int) -> int:
        if value % 2:
            raise fault(expected="an even number", remedy="add one")
        return value

    @model_validator(mode="after")
    def _not_both(self) -> Inner:
        if self.walls == 7 and self.support:
            raise ValueError("not 7 walls with support")
        return self


class Outer(Form):
    """A form that holds others in a mapping and in a list."""

    form: Literal["test/1"] = Field(alias="schema")
    name: str = Field(description="What it is called.")
    parts: dict[str, Inner] = Field({})
    items: tuple[Inner, ...] = Field((), min_length=1)


def problems(inner: str, form: type[Form] = Outer) -> tuple[Problem, ...]:
    text = "schema: test/1\nname: n\nitems: [{layer_mm: 1}]\nparts:\n  hook:\n    " + inner
    with pytest.raises(InputError) as caught:
        validate(form, parse_yaml(text, file="a.yaml"))
    return caught.value.problems


# key: value, found, expected, remedy; `layer_mm` is added where it is not the subject.
MESSAGES = [
    ("walls: 3.0", "the decimal number 3.0", "a whole number from 0 to 50", "write 3"),
    ("walls: 1e1", "the decimal number 10.0", "a whole number from 0 to 50", "write 10"),
    (
        "walls: 1e99",
        "the decimal number 1e+99",
        "a whole number from 0 to 50",
        "write a whole number",
    ),
    ("walls: 2.5", "the decimal number 2.5", "a whole number from 0 to 50", "write a whole number"),
    ("walls: true", "true", "a whole number from 0 to 50", "write walls: and a number"),
    ("walls: '3'", "'3'", "a whole number from 0 to 50", "remove the quotes"),
    ("walls: -1", "-1", "a whole number from 0 to 50", "write a value in that range"),
    ("walls:", "nothing", "a whole number from 0 to 50", "write walls: and a number"),
    ("infill: 15", "15", "a number from 0 to 1", "write 0.15 for 15 %"),
    ("infill: 15 %", "'15 %'", "a number from 0 to 1", "write 0.15 for 15 %"),
    ("layer_mm: 0", "0 mm", "a number above 0 and below 2 mm", "write a value in that range"),
    (
        "layer_mm: 0.2 mm",
        "'0.2 mm'",
        "a number above 0 and below 2 mm",
        "leave the unit out: it is in the name of the key",
    ),
    (
        "layer_mm: [1]",
        "a list of 1",
        "a number above 0 and below 2 mm",
        "write layer_mm: and a number",
    ),
    ("layer_mm: thin", "'thin'", "a number above 0 and below 2 mm", "write a bare number"),
    ("price_per_kg: -3", "-3 per kg", "a number at least 0 per kg", "write a value in that range"),
    ("limit_g: 11", "11 g", "a number at most 10 g", "write a value in that range"),
    ("bead: stadum", "'stadum'", "one of stadium, rectangle", "did you mean stadium?"),
    ("bead: 3", "3", "one of stadium, rectangle", "write one of these"),
    ("support: yes", "'yes'", "true or false", "write true"),
    ("support: off", "'off'", "true or false", "write false"),
    ("support: 1", "1", "true or false", "write true or false"),
    ("word: 3", "3", "text", "put it in quotes"),
    ("word: ''", "''", "some text", "correct word"),
    ("word: toolong", "'toolong'", "at most 5 characters", "correct word"),
    ("points: 3", "3", "a list [ … ]", "correct points"),
    ("points: [[1, 2], [3]]", "a list of 1", "at least 2 values", "add what is missing"),
    ("weights: [1]", "a list of 1", "a mapping (key: value)", "correct weights"),
    ("weights: {a: b}", "'b'", "a number", "write a bare number"),
    ("tags: [a, b, c]", "a list of 3", "at most 2 values", "remove some"),
    ("even: 3", "3", "an even number", "add one"),
]


@pytest.mark.parametrize(("line", "found", "expected", "remedy"), MESSAGES)
def test_each_kind_of_fault_has_its_words(line, found, expected, remedy):
    rest = "" if line.startswith("layer_mm") else "\n    layer_mm: 1"

    (problem,) = problems(line + rest)

    assert (problem.found, problem.expected, problem.remedy) == (found, expected, remedy)
    assert (problem.file, problem.line) == ("a.yaml", 6)
    assert problem.place.startswith("parts.hook." + line.split(":")[0])


def test_an_unknown_key_suggests_the_nearest_and_lists_the_known():
    (problem,) = problems("layer_mm: 1\n    wals: 3")

    assert problem.line == 7
    assert problem.found == "the unknown key 'wals'"
    assert problem.expected.startswith("one of the keys walls, infill, layer_mm")
    assert problem.remedy == "did you mean walls?"


def test_an_unknown_key_like_no_other_is_to_be_removed():
    (problem,) = problems("layer_mm: 1\n    zzz: 3")

    assert problem.remedy == "remove it"


def test_a_missing_key_says_what_it_means():
    (problem,) = problems("walls: 3")

    assert problem.line == 5
    assert problem.found == "no layer_mm"
    assert problem.expected == "the key layer_mm (Height of a layer)"
    assert problem.remedy == "add layer_mm: …"


def test_a_plain_value_error_is_told_too():
    (problem,) = problems("{layer_mm: 1, walls: 7, support: true}")

    assert problem.place == "parts.hook"
    assert problem.expected == "not 7 walls with support"


def test_an_alias_is_known_by_the_name_the_user_writes():
    document = parse_yaml("schema: test/2\nname: n\nitems: [{layer_mm: 1}]", file="a.yaml")

    with pytest.raises(InputError, match=r"a.yaml:1: schema: found 'test/2', expected test/1; w"):
        validate(Outer, document)


def test_all_faults_are_told_in_the_order_of_the_file():
    document = parse_yaml(
        "items:\n - {layer_mm: 3}\n - {layer_mm: 1, wals: 3}\nnam: n\nschema: test/1", file="a.yaml"
    )
    with pytest.raises(InputError) as caught:
        validate(Outer, document)

    told = [(problem.line, problem.place) for problem in caught.value.problems]
    assert told == [(1, "name"), (2, "items[0].layer_mm"), (3, "items[1].wals"), (4, "nam")]


def test_a_list_with_a_faulty_item_is_not_called_empty():
    """The form asks for one item; the only one is faulty, which is one fault, not two."""
    document = parse_yaml("schema: test/1\nname: n\nitems: [{layer_mm: 3}]", file="a.yaml")
    with pytest.raises(InputError) as caught:
        validate(Outer, document)

    assert [problem.place for problem in caught.value.problems] == ["items[0].layer_mm"]


def test_an_empty_list_is_called_empty():
    document = parse_yaml("schema: test/1\nname: n\nitems: []", file="a.yaml")

    with pytest.raises(InputError, match="found an empty list, expected at least 1 of them"):
        validate(Outer, document)


def test_a_long_list_of_faults_is_cut_and_says_so():
    items = ",".join('{"layer_mm": 9}' for _ in range(200))
    document = parse_json(f'{{"schema": "test/1", "name": "n", "items": [{items}]}}', file="a.json")
    with pytest.raises(InputError) as caught:
        validate(Outer, document)

    assert len(caught.value.problems) == PROBLEMS_MAX + 1
    assert caught.value.problems[-1].found == f"{200 - PROBLEMS_MAX} more faults"


def test_only_what_is_shown_is_put_into_words(monkeypatch):
    """Words take time for each fault; a file may have a hundred thousand."""
    asked = []
    monkeypatch.setattr(
        "planner.document.check.told", lambda *args: asked.append(args) or ("a", "b", "c")
    )
    items = ",".join('{"layer_mm": 9}' for _ in range(200))
    document = parse_json(f'{{"schema": "test/1", "name": "n", "items": [{items}]}}', file="a.json")
    with pytest.raises(InputError) as caught:
        validate(Outer, document)

    assert len(asked) == PROBLEMS_MAX
    assert caught.value.problems[-1].found == "150 more faults"


def test_faults_cut_by_the_form_are_counted_once():
    items = ",".join('{"layer_mm": 9}' for _ in range(200))
    document = parse_json(f'{{"schema": "test/1", "name": "n", "items": [{items}]}}', file="a.json")

    _, told = validate_partly(Outer, document)

    assert in_order([*told, *told])[-1].found == "150 more faults"


def test_json_faults_have_lines_too():
    text = (
        '{"schema": "test/1",\n "name": "n",\n "items": [\n  {"layer_mm": 1},\n  {"layer_mm": -1}]}'
    )

    with pytest.raises(InputError, match=r"a.json:5: items\[1\].layer_mm: found -1 mm"):
        validate(Outer, parse_json(text, file="a.json"))


def test_a_sound_document_becomes_a_frozen_form():
    document = parse_yaml(
        "schema: test/1\nname: n\nitems: [{layer_mm: 1, points: [[1, 2]]}]", file="a.yaml"
    )
    form = validate(Outer, document)

    assert form.items[0].points == ((1.0, 2.0),)
    with pytest.raises(ValueError, match="frozen"):
        form.name = "m"


def test_a_partial_form_leaves_out_what_is_faulty():
    document = parse_yaml(
        "schema: test/1\nname: n\nitems: [{layer_mm: 1, walls: x}]\n"
        "parts: {good: {layer_mm: 1, wals: 3}, bad: {walls: 3}}",
        file="a.yaml",
    )
    form, told = validate_partly(Outer, document)

    assert form is not None
    assert [problem.place for problem in told] == [
        "items[0].walls",
        "parts.good.wals",
        "parts.bad.layer_mm",
    ]
    assert form.items[0].walls == 3
    assert list(form.parts) == ["good"]


def test_a_partial_form_without_enough_left_is_none():
    form, told = validate_partly(Outer, parse_yaml("schema: test/1", file="a.yaml"))

    assert form is None
    assert [problem.found for problem in told] == ["no name"]


@pytest.mark.parametrize("key", ['"a\\nb"', '"\\u200b"', "ключ", '"a.b[0]"'])
def test_strange_keys_keep_the_message_on_one_line(key):
    (problem,) = problems(f"layer_mm: 1\n    {key}: 3")

    assert "\n" not in str(problem)
    assert problem.line == 7
