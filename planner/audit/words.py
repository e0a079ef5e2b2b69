"""Values in the words of the person who wrote them: with their unit, and as YAML."""

from __future__ import annotations

_UNITS = (
    ("_mm3_s", " mm³/s"),
    ("_mm_s2", " mm/s²"),
    ("_mm_s", " mm/s"),
    ("_mm", " mm"),
    ("_c", " °C"),
    ("_deg", "°"),
    ("_s", " s"),
)
"""Ending of a key -> unit; longer endings first, so that `_mm_s` is not taken for `_s`."""

_COUNTS = {
    "walls": ("wall", "walls"),
    "top_layers": ("top layer", "top layers"),
    "bottom_layers": ("bottom layer", "bottom layers"),
}
_SHARES = ("infill", "fan")


def with_unit(key: str, value: object) -> str:
    """Return a setting's value as text with its unit.

    >>> with_unit("layer_mm", 0.2), with_unit("infill", 0.15), with_unit("walls", 1)
    ('0.2 mm', '15 %', '1 wall')
    """
    stem = key.partition(".")[0]
    if isinstance(value, bool):
        return f"{stem} {'on' if value else 'off'}"
    if not isinstance(value, int | float):
        return str(value)
    if stem in _SHARES:
        return f"{value * 100:g} %"
    if stem in _COUNTS:
        return f"{value:g} {_COUNTS[stem][value != 1]}"
    unit = next((unit for ending, unit in _UNITS if stem.endswith(ending)), "")
    return f"{value:g}{unit}"


def as_yaml(value: object) -> str:
    """Return a value as it is written in a job file.

    >>> as_yaml(True), as_yaml(3.0), as_yaml("pla")
    ('true', '3', 'pla')
    """
    if isinstance(value, bool):
        return str(value).lower()
    return f"{value:g}" if isinstance(value, int | float) else str(value)


def entry_name(feature: str) -> str:
    """Return a feature's name as it is written in a file.

    >>> entry_name("outer wall")
    'outer_wall'
    """
    return feature.replace(" ", "_")


def listed(items: tuple[str, ...], last: str = "and") -> str:
    """Join names for a sentence.

    >>> listed(("a", "b", "c")), listed(("a", "b"), "or")
    ('a, b and c', 'a or b')
    """
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} {last} {items[-1]}"


def box(size_mm: tuple[float, ...]) -> str:
    """Return an extent in mm, to a tenth.

    >>> box((120.04, 60, 8))
    '120 x 60 x 8 mm'
    """
    return " x ".join(f"{round(length, 1):g}" for length in size_mm) + " mm"
