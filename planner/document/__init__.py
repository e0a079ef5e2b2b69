"""Files that people and programs write, read into plain data and checked forms.

`read_yaml` and `read_json` return a `Document`: plain data and the line of every place in
it. `validate` turns that into a form, or says everything that is wrong with it in one go.
Whatever cannot be read exactly is refused, never guessed.
"""

from __future__ import annotations

from planner.document.check import validate
from planner.document.files import missing_file
from planner.document.form import Form, Words, fault
from planner.document.json_text import parse_json, read_json
from planner.document.model import Document, place_of
from planner.document.name import Name
from planner.document.yaml_text import parse_yaml, read_yaml

__all__ = [
    "Document",
    "Form",
    "Name",
    "Words",
    "fault",
    "missing_file",
    "parse_json",
    "parse_yaml",
    "place_of",
    "read_json",
    "read_yaml",
    "validate",
]
