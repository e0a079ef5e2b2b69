"""The committed JSON Schemas of wall and system files are current, and agree with the reader."""

from __future__ import annotations

import copy

import jsonschema
import pytest

from planner.document import read_yaml
from planner.job.schema import SCHEMA_FILE, job_schema, schema_text
from planner.shipped import workshop_dir

NAMES = ("wall", "system")


def refusals(name, data) -> list[str]:
    validator = jsonschema.Draft202012Validator(job_schema(name))
    return [error.message for error in validator.iter_errors(data)]


@pytest.mark.parametrize("name", NAMES)
def test_the_committed_schema_is_current(name):
    """If not: python -m planner.job.schema."""
    committed = SCHEMA_FILE.with_name(f"{name}.schema.json")

    assert committed.read_text(encoding="utf-8") == schema_text(name)
    jsonschema.Draft202012Validator.check_schema(job_schema(name))


@pytest.mark.parametrize("name", NAMES)
def test_the_workshops_file_fits_and_switches_it_on(name):
    path = workshop_dir() / f"{name}.yaml"

    assert refusals(name, read_yaml(path).data) == []
    first = path.read_text("utf-8").splitlines()[0]
    assert first == f"# yaml-language-server: $schema={name}.schema.json"


@pytest.mark.parametrize("name", NAMES)
def test_every_key_is_described(name):
    """The descriptions are the reference of the files."""
    schema = job_schema(name)
    forms = [schema, *schema.get("$defs", {}).values()]

    assert [k for f in forms for k, v in f["properties"].items() if not v.get("description")] == []
    assert all(form["description"] for form in forms)


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("width_mm", "690"),
        ("width_mm", 0),
        ("cutouts", []),
        ("cut_outs", [{"name": "x"}]),
        ("hung", [{"thing": "x", "cell": [0, 1]}]),
        ("hung", [{"thing": "x", "cell": [1]}]),
        ("offset_mm", [1]),
        ("meets", ["ceiling"]),
    ],
)
def test_what_the_reader_refuses_of_a_wall_the_editor_underlines(key, value):
    data = copy.deepcopy(read_yaml(workshop_dir() / "wall.yaml").data)
    data["walls"][0][key] = value

    assert refusals("wall", data)
