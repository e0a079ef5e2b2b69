"""Whatever is done to a job file, it is read, or refused in words."""

from __future__ import annotations

import copy
import json

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.errors import InputError
from planner.job.demand import needs
from tests.spoiling import places

SAME_FOLDER = settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
"""The folder of mesh files stays as it is; only the job file in it is written anew."""

ODD = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-5, 5),
    st.sampled_from([10**6, -(10**30), 1e300, -1e-300, 0.1 + 0.2]),
    st.sampled_from(["", "x", "+z", "pla", "everyday_020", "..", "/", "a\0b", "\ud800", "é\u2028"]),
    st.sampled_from(["2026-10-25T01:30", "2026-11-28T10:00", "2026-11-28T10:00+14:00"]),
    st.lists(st.integers(-1, 1), max_size=3),
    st.dictionaries(st.sampled_from(["base", "box", "x_mm", "wall", "panel", ""]), st.integers()),
)


@st.composite
def spoilt(draw, sound):
    """Change, remove, rename or add something, up to four times."""
    data = copy.deepcopy(sound)
    for _ in range(draw(st.integers(1, 4))):
        path = draw(st.sampled_from(sorted(places(data), key=str)))
        owner = data
        for key in path[:-1]:
            owner = owner[key]
        deed = draw(st.sampled_from(["change", "remove", "rename"]))
        value = owner.pop(path[-1])
        if deed == "remove":
            continue
        value = value if deed == "rename" else draw(ODD)
        if isinstance(owner, list):
            owner.insert(path[-1], value)
        else:
            owner[path[-1] if deed == "change" else draw(st.text("abs_", max_size=4))] = value
        if not list(places(data)):
            break
    return data


def read_or_refused(load, content) -> None:
    """Load; a refusal must be one line per problem, and a job must be countable."""
    try:
        job = load(content)
    except InputError as error:
        lines = str(error).splitlines()
        refused = len(lines) == len(error.problems) > 0
        assert refused, lines
        return
    assert len(needs(job)) == len(job.parts)


@SAME_FOLDER
@given(data=st.data())
def test_spoilt_data_is_read_or_refused(load, sound, data):
    read_or_refused(load, json.dumps(data.draw(spoilt(sound)), indent=1))


@SAME_FOLDER
@given(data=st.data())
def test_spoilt_text_is_read_or_refused(load, sound, data):
    """Cut out, doubled and inserted pieces of the file itself."""
    text = json.dumps(sound, indent=1)
    start = data.draw(st.integers(0, len(text)))
    stop = data.draw(st.integers(start, min(len(text), start + 80)))
    piece = data.draw(st.one_of(st.just(text[start:stop] * 2), st.text(max_size=5)))

    read_or_refused(load, text[:start] + piece + text[stop:])


@pytest.mark.parametrize("share", [0.1, 0.5, 0.9, 0.99])
def test_a_file_cut_short_is_refused(load, sound, share):
    text = json.dumps(sound, indent=1)

    with pytest.raises(InputError):
        load(text[: int(len(text) * share)])
