"""Names that people give to their things, the same in every form."""

from __future__ import annotations

from typing import Annotated

from pydantic import AfterValidator, Field

from planner.document.form import fault

NAME_MAX = 80


def _check_name(text: str) -> str:
    if not text.isprintable() or text != text.strip() or "/" in text or "\\" in text:
        raise fault(
            expected="a name without slashes, line breaks or spaces around it",
            remedy="write a plain word or two",
        )
    return text


Name = Annotated[str, Field(min_length=1, max_length=NAME_MAX), AfterValidator(_check_name)]
"""A word or a few: fit for one line of a message, a cell of a table and a file's name."""
