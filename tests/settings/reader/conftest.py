"""Reading a text as a file, and telling what came of it."""

from __future__ import annotations

import math

import pytest

from planner.settings.reader.read import read_text_of


def values(text, lexicon=None):
    """Return neutral key -> value of a text, whatever its form."""
    content = text if isinstance(text, bytes) else text.encode()
    return {key: each.value for key, each in read_text_of(content, "own.txt", lexicon).read.items()}


def same(found, true):
    """Compare like with like: true is not 1; numbers to the digits that a conversion keeps."""
    if isinstance(true, bool | str) or isinstance(found, bool | str):
        return found is true or (isinstance(true, str) and found == true)
    return math.isclose(found, true, rel_tol=1e-9, abs_tol=1e-12)


@pytest.fixture(scope="session")
def read():
    return values


@pytest.fixture(scope="session")
def full():
    """Return everything that was made of a text."""
    return lambda text, lexicon=None: read_text_of(
        text if isinstance(text, bytes) else text.encode(), "own.txt", lexicon
    )


@pytest.fixture(scope="session")
def alike():
    return same
