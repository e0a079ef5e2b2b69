"""JSON is read exactly, or refused with the line to look at."""

from __future__ import annotations

import json
import tracemalloc

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.document import parse_json, read_json
from planner.errors import InputError


def refusal_or_nothing(text: str) -> str:
    """Return the refusal of a text, or "" if it is read; anything else raised is a bug."""
    try:
        parse_json(text, file="a.json")
    except InputError as error:
        return str(error)
    return ""


def refusal(text: str) -> str:
    with pytest.raises(InputError) as caught:
        parse_json(text, file="a.json")
    assert len(caught.value.problems) == 1
    return str(caught.value)


plain_data = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(10**30), 10**30)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=6), inner),
    max_leaves=8,
)


@settings(max_examples=50)
@given(data=st.dictionaries(st.text(max_size=6), plain_data, max_size=5))
def test_what_is_written_is_read_back(data):
    """Round trip through the standard library's writer."""
    assert parse_json(json.dumps(data), file="a.json").data == data


@settings(max_examples=50)
@given(data=st.dictionaries(st.sampled_from("abcd"), plain_data, max_size=4))
def test_lines_of_one_value_per_line(data):
    """With indent=1 each key stands on a line of its own, in order."""
    text = json.dumps(data, indent=1)
    document = parse_json(text, file="a.json")
    rows = text.splitlines()

    for place, line in document.lines.items():
        if "." not in place and "[" not in place:
            assert rows[line - 1].startswith(f' "{place}":')


def test_lines_lead_to_keys_items_and_what_follows_them():
    text = '{"a": [\n  {"b": 1,\n   "c": [1,\n 2]},\n  "x:,{",\n 3],\n "d": {},\n "e": []}'
    lines = parse_json(text, file="a.json").lines

    assert dict(lines) == {
        "a": 1,
        "a[0]": 2,
        "a[0].b": 2,
        "a[0].c": 3,
        "a[0].c[0]": 3,
        "a[0].c[1]": 4,
        "a[1]": 5,
        "a[2]": 6,
        "d": 7,
        "e": 8,
    }


BAD = {
    "not a number": ('{"a": NaN}', "found NaN"),
    "infinity": ('{"a": -Infinity}', "found -Infinity"),
    "beyond a double": ('{"a": 1e999}', "found 1e999"),
    "too many digits": ('{"a": ' + "9" * 5000 + "}", "5000 digits"),
    "duplicate key": ('{"a": 1, "b": {"c": 1, "c": 2}}', "the key 'c' twice"),
    "missing colon": ('{"a":\n 1,\n "b" 2}', "a.json:3: found '2}' at column 6"),
    "cut off": ('{"a": [1', "found the end"),
    "list at the top": ("[1]", "found a list of 1, expected a JSON object"),
    "number at the top": ("3", "found 3"),
    "something after it": ("{} {}", "Extra data"),
    "deep within reach": ('{"a": ' + "[" * 100 + "]" * 100 + "}", "deeper than 60"),
    "deep beyond reach": ('{"a": ' + "[" * 100_000, "deeper than 60"),
    "bare word": ('{"a": yes}', "found 'yes}'"),
    "remark": ('{"a": 1} // all', "Extra data"),
}


@pytest.mark.parametrize("case", BAD)
def test_what_cannot_be_read_exactly_is_refused(case):
    text, words = BAD[case]

    message = refusal(text)

    assert words in message
    assert "\n" not in message


@given(text=st.text('{}[]",:1ea.\\ u\n', max_size=60))
def test_no_text_raises_anything_else(text):
    assert "\n" not in refusal_or_nothing(text)


def test_the_limit_of_size_is_told(tmp_path):
    path = tmp_path / "a.json"
    path.write_text('{"a": "' + "x" * 2000 + '"}')

    assert read_json(path).data["a"] == "x" * 2000
    with pytest.raises(InputError, match=r"more than 0\.001 MB"):
        read_json(path, limit_mb=0.001)


@pytest.mark.parametrize("sign", ["x", "\\n"])
def test_lines_of_a_long_string_are_found_in_little_memory(sign):
    """A megabyte of text: little more than a copy of it is held while its line is looked for."""
    document = parse_json('{\n"a": "' + sign * (10**6 // len(sign)) + '",\n"b": 1}', file="f")
    tracemalloc.start()
    line = document.line("b")
    _, peak_bytes = tracemalloc.get_traced_memory()
    tracemalloc.stop()

    assert line == 3
    assert peak_bytes < 5e6
