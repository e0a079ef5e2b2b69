"""The committed JSON Schema is current, and agrees with the reader."""

from __future__ import annotations

import json

import jsonschema
import pytest

from planner.document import read_yaml
from planner.job.form import JobForm
from planner.job.schema import SCHEMA_FILE, job_schema, schema_text
from planner.shipped import workshop_dir


def test_the_committed_schema_is_current():
    """If not: python -m planner.job.schema."""
    assert SCHEMA_FILE.read_text(encoding="utf-8") == schema_text()


def test_it_is_a_schema():
    jsonschema.Draft202012Validator.check_schema(job_schema())


def test_every_key_is_described():
    """The descriptions are the reference of the job file."""
    schema = job_schema()
    forms = [schema, *schema["$defs"].values()]
    undescribed = [
        key
        for form in forms
        for key, value in form["properties"].items()
        if not value.get("description")
    ]

    assert undescribed == []
    assert all(form["description"] for form in forms)


def test_no_name_of_ours_leaks_into_it():
    text = schema_text()

    assert '"title": "Mesh"' not in text
    assert "as a word" not in text


def refusals(data) -> list[str]:
    return [
        error.message for error in jsonschema.Draft202012Validator(job_schema()).iter_errors(data)
    ]


def test_the_sample_workshop_fits(sound):
    assert refusals(read_yaml(workshop_dir() / "job.yaml").data) == []


def test_a_sound_job_fits(sound):
    sound["parts"]["key"] |= {
        "up": [0, 1, 1],
        "load": [{"force_n": [0, 0, 1], "on": {"box": [[0, 0, 0], [1, 1, 1]]}, "held": "-z"}],
        "settings": {"base": "hefty_020", "speed_mm_s": {"travel": 99}},
    }
    sound["parts"]["panel"] |= {"up": "-z", "settings": "delicate_012"}

    assert refusals(sound) == []


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("quantity", -1),
        ("quantity", "3"),
        ("up", "z"),
        ("up", [0, 1]),
        ("unit", "parsec"),
        ("wals", 3),
        ("settings", {"infill": 15}),
        ("settings", {"wals": 3}),
        ("load", {"force_n": [1], "on": "+z", "held": "-z"}),
        ("load", []),
        ("stage", 0),
    ],
)
def test_what_the_reader_refuses_the_editor_underlines(sound, key, value):
    sound["parts"]["key"][key] = value

    assert refusals(sound)


def test_required_keys_are_the_same():
    required = {
        info.alias or name for name, info in JobForm.model_fields.items() if info.is_required()
    }

    assert set(job_schema()["required"]) == required


def test_the_schema_lies_beside_its_form():
    assert SCHEMA_FILE.parent.name == "workshop"
    assert json.loads(SCHEMA_FILE.read_text(encoding="utf-8"))["$schema"].endswith("/schema")
