"""What tests that spoil sound files at random share."""

from __future__ import annotations


def places(data, path=()):
    """Yield the path of everything inside plain data."""
    items = data.items() if isinstance(data, dict) else enumerate(data)
    for key, value in items:
        yield (*path, key)
        if isinstance(value, dict | list):
            yield from places(value, (*path, key))
