"""Small pieces of the sentences in which faults are told."""

from __future__ import annotations

from difflib import get_close_matches
from typing import TYPE_CHECKING

from planner.errors import printable

if TYPE_CHECKING:
    from collections.abc import Iterable

# Longest suffix first, so that `speed_mm_s` is not read as seconds.
UNITS = (
    ("_per_kwh", "per kWh"),
    ("_per_kg", "per kg"),
    ("_mm3_s", "mm³/s"),
    ("_mm_s2", "mm/s²"),
    ("_g_cm3", "g/cm³"),
    ("_mm_s", "mm/s"),
    ("_mm2", "mm²"),
    ("_mpa", "MPa"),
    ("_deg", "degrees"),
    ("_min", "min"),
    ("_mm", "mm"),
    ("_c", "°C"),
    ("_g", "g"),
    ("_n", "N"),
    ("_s", "s"),
    ("_w", "W"),
)
SHOWN_MAX = 60
KEY_MAX = 30
LISTED_MAX = 8
CANDIDATES_MAX = 1000
COMPARED_MAX = 200


def unit_of(key: str) -> str:
    """Return the unit that a key's name ends in, or "".

    >>> unit_of("speed_mm_s"), unit_of("layer_time_min_s"), unit_of("nozzle_c_max")
    ('mm/s', 's', '°C')
    """
    key = key.removesuffix("_max")
    return next((unit for suffix, unit in UNITS if key.endswith(suffix)), "")


def nearest(name: str, known: Iterable[str]) -> str | None:
    """Return the known name most like `name` (capitals aside), or None if none is.

    Among very many names, or for a very long one, only capitals are looked past: comparing
    takes time for each, and whoever has so many names can find the right one faster.

    >>> nearest("Wals", ["infill", "walls"])
    'walls'
    """
    by_low = {each.casefold(): each for each in reversed(list(known))}
    if len(by_low) > CANDIDATES_MAX or len(name) > COMPARED_MAX:
        return by_low.get(name.casefold())
    found = get_close_matches(name.casefold(), by_low, n=1, cutoff=0.6)
    return by_low[found[0]] if found else None


def suggestion(name: str, known: Iterable[str], *, noun: str = "") -> str:
    """Return what to do about an unknown name: the nearest known one, or all of them.

    >>> suggestion("wals", ["infill", "walls"])
    'did you mean walls?'
    >>> suggestion("colour", ["infill", "walls"], noun="keys")
    'known keys: infill, walls'
    """
    names = list(known)
    near = nearest(name, names)
    if near is not None:
        return f"did you mean {near}?"
    return f"known {noun or 'names'}: {listed(names)}" if names else "none is known here"


def listed(names: Iterable[str], *, most: int = LISTED_MAX) -> str:
    """Join names with commas; a long list is cut and says so."""
    every = list(names)
    rest = len(every) - most
    return ", ".join(every[:most]) + (f" and {rest} more" if rest > 0 else "")


def shown(value: object, unit: str = "") -> str:
    """Return a value as the user would recognise it, in one short line.

    >>> shown(True), shown("a b"), shown({"x": 1}), shown(0.5, "mm"), shown(None)
    ('true', "'a b'", 'a mapping (x)', '0.5 mm', 'nothing')
    """
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return f"{value if isinstance(value, int) else format(value, 'g')} {unit}".rstrip()
    if isinstance(value, dict):
        keys = (printable(clipped(str(key), most=KEY_MAX)) for key in value)
        return f"a mapping ({listed(keys, most=4)})" if value else "an empty mapping"
    if isinstance(value, list | tuple):
        return f"a list of {len(value)}" if value else "an empty list"
    return clipped(repr(value))


def clipped(text: str, *, most: int = SHOWN_MAX) -> str:
    """Shorten a text to what fits into a message."""
    return text if len(text) <= most else f"{text[: most - 1]}…"
