"""Names of shapes and beds go into messages, pictures and file names: all must take them."""

from __future__ import annotations

import pytest

from planner.document import parse_json, validate
from planner.errors import InputError
from planner.nest.form import NestFile

SQUARE = "[[0, 0], [9, 0], [9, 9], [0, 9]]"


@pytest.mark.parametrize("name", ["a\\nb", "\\u001b[31m", "a/b"])
def test_a_name_with_control_characters_or_slashes_is_refused(name):
    text = (
        f'{{"items": [{{"id": "{name}", "outline": {SQUARE}}}],\n'
        f'"beds": [{{"id": "{name}", "width_mm": 99, "depth_mm": 99}}],\n'
        '"clearance_mm": 1, "edge_mm": 1}'
    )
    with pytest.raises(InputError) as caught:
        validate(NestFile, parse_json(text, file="a.json"))

    assert [problem.place for problem in caught.value.problems] == ["items[0].id", "beds[0].id"]
    assert all("without slashes, line breaks" in str(problem) for problem in caught.value.problems)
