"""Units of measurement as they are written, and what they are in ours.

Factors are definitions (SI brochure, 9th edition; the inch of 1959 is 25.4 mm).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import pi


@dataclass(frozen=True, slots=True, kw_only=True)
class Unit:
    """A unit: the quantities it may belong to, and value = written x factor + offset in ours."""

    name: str
    quantities: tuple[str, ...]
    factor: float = 1.0
    offset: float = 0.0


def _unit(name: str, quantities: str, factor: float = 1.0, offset: float = 0.0) -> Unit:
    return Unit(name=name, quantities=tuple(quantities.split()), factor=factor, offset=offset)


_UNITS = {
    "mm": _unit("mm", "length"),
    "cm": _unit("cm", "length", 10),
    "m": _unit("m", "length", 1000),
    "um": _unit("µm", "length", 1e-3),
    "in": _unit("in", "length", 25.4),
    "%": _unit("%", "share", 0.01),
    "mm/s": _unit("mm/s", "speed"),
    "mm/min": _unit("mm/min", "speed", 1 / 60),
    "m/min": _unit("m/min", "speed", 1000 / 60),
    "cm/s": _unit("cm/s", "speed", 10),
    "m/s": _unit("m/s", "speed", 1000),
    "in/s": _unit("in/s", "speed", 25.4),
    "in/min": _unit("in/min", "speed", 25.4 / 60),
    "mm/s2": _unit("mm/s²", "acceleration"),
    "m/s2": _unit("m/s²", "acceleration", 1000),
    "mm3/s": _unit("mm³/s", "flow"),
    "mm3/min": _unit("mm³/min", "flow", 1 / 60),
    "cm3/s": _unit("cm³/s", "flow", 1000),
    "cm3/min": _unit("cm³/min", "flow", 1000 / 60),
    "degc": _unit("°C", "temperature"),
    "degf": _unit("°F", "temperature", 5 / 9, -160 / 9),
    "kelvin": _unit("K", "temperature", 1.0, -273.15),
    "deg": _unit("°", "angle temperature"),
    "rad": _unit("rad", "angle", 180 / pi),
    "s": _unit("s", "time"),
    "ms": _unit("ms", "time", 1e-3),
    "min": _unit("min", "time", 60),
    "h": _unit("h", "time", 3600),
    "pwm": _unit("of 255", "share", 1 / 255),
    "x": _unit("", "count"),
    "g": _unit("g", "other"),
    "g/cm3": _unit("g/cm³", "other"),
    "hz": _unit("Hz", "other"),
    "w": _unit("W", "other"),
    "bar": _unit("bar", "other"),
    "mm2": _unit("mm²", "other"),
    "mm3": _unit("mm³", "other"),
}

_SPELT = {
    "millimeter millimetre millimeters millimetres millimetri milimetros milimetro": "mm",
    "micron microns micrometer micrometers micrometre micrometres mikrometer µm μm": "um",
    'inch inches zoll pouce pouces pulgada pulgadas pollici polegada polegadas ″ "': "in",
    "percent pct prozent procent percento por_cento pour_cent per_cent": "%",
    "mm/sec mmps mmpersec mmpers mmpersecond mms mm/sek": "mm/s",
    "mmpm mmpermin mmperminute mmmin mm/m": "mm/min",
    "mm/s^2 mm/s/s mm/s**2 mm/sec2 mm/sec^2 mmpers2 mmpersec2 mms2 mm/s²": "mm/s2",
    "m/s^2 m/s² mpers2": "m/s2",
    "mm^3/s mm³/s cumm/s mm3pers mm3s mm3/sec mm^3/sec mm³/sec µl/s ul/s": "mm3/s",
    "cm³/s cm^3/s ml/s": "cm3/s",
    "cm³/min cm^3/min ml/min": "cm3/min",
    "°c ºc ℃ c celsius degcelsius degreec degreesc degreescelsius gradcelsius": "degc",
    "°f ºf ℉ f fahrenheit degfahrenheit degreesf": "degf",
    "k": "kelvin",
    "° º degree degrees grad degre degres grado grados gradi grau graus": "deg",
    "radian radians": "rad",
    "sec secs second seconds sek sekunde sekunden seconde secondes segundo segundos secondi": "s",
    "msec millisecond milliseconds": "ms",
    "mins minute minutes minuten minuto minutos minuti": "min",
    "hour hours stunde stunden": "h",
    "/255 of255 pwm255": "pwm",
    "pcs stk stuck times": "x",
    "gram grams gramm": "g",
    "g/cm³ g/cm^3": "g/cm3",
}
for _names, _name in _SPELT.items():
    for _each in _names.split():
        _UNITS[_each.replace("_", "")] = _UNITS[_name]

_BRACKETED = re.compile(r"[\[(]\s*([^\[\]()]{1,16}?)\s*[\])]\s*$")
_TAIL_MAX = 5


def unit_named(text: str) -> Unit | None:
    """Return the unit written so, or None.

    >>> unit_named("mm / s").quantities, unit_named("°C").name, unit_named("furlong")
    (('speed',), '°C', None)
    """
    return _UNITS.get(re.sub(r"[\s.]", "", text).casefold().strip("[]()"))


def unit_of_key(key: str, words: tuple[str, ...]) -> tuple[Unit | None, str, int]:
    """Return the unit that a key ends in, the key without brackets, and how many words it is.

    `words` are the key's own, folded. A lone letter counts as a unit only after another
    word, and only where the trade writes it so (s, c, %).

    >>> unit_of_key("speed [mm/min]", ("speed", "mm", "min"))[1]
    'speed'
    >>> unit_of_key("wall_speed_mm_s", ("wall", "speed", "mm", "s"))[2]
    2
    """
    found = _BRACKETED.search(key)
    if found is not None:
        unit = unit_named(found[1])
        if unit is not None:
            return unit, key[: found.start()].rstrip(), 0
    if key.rstrip().endswith("%"):
        return _UNITS["%"], key.rstrip().removesuffix("%").rstrip(), 0
    for length in range(min(_TAIL_MAX, len(words)), 0, -1):
        tail = words[-length:]
        unit = _of_tail(tail)
        if unit is not None:
            return unit, key, length
    return None, key, 0


def _of_tail(tail: tuple[str, ...]) -> Unit | None:
    """Return the unit of a key's last words: "mm per s", "mm s 2", "deg c", "pct"."""
    if len(tail) == 1 and tail[0] in _NOT_IN_KEYS:
        return None
    joined = "".join("" if word in _PER else word for word in tail)
    known = _COMPOUND.get(joined) or (_UNITS.get(joined) if joined.isalnum() else None)
    if known is None or (len(tail) > 1 and not _is_units(tail)):
        return None
    return known


_PER = frozenset({"per", "pro", "par", "por", "al"})
_NOT_IN_KEYS = frozenset(
    {"x", "in", "h", "f", "k", "m", "g", "w", "bar", "min", "mins", "times", "hz"}
)
"""Letters and words that mean something else where they end a key (min: a lower bound)."""
_COMPOUND = {
    "mms": _UNITS["mm/s"],
    "mmsec": _UNITS["mm/s"],
    "mmsecond": _UNITS["mm/s"],
    "mmmin": _UNITS["mm/min"],
    "mmminute": _UNITS["mm/min"],
    "mms2": _UNITS["mm/s2"],
    "mmss": _UNITS["mm/s2"],
    "mm3s": _UNITS["mm3/s"],
    "mm3sec": _UNITS["mm3/s"],
    "cummsec": _UNITS["mm3/s"],
    "degreescelsius": _UNITS["degc"],
    "degc": _UNITS["degc"],
}
_PARTS = frozenset(
    (
        *("mm", "cm", "m", "um", "in", "s", "sec", "second", "min", "minute", "2", "3"),
        *("deg", "degree", "degrees", "c", "celsius", "f", "per", "pro", "par", "por", "cu"),
    )
)


def _is_units(tail: tuple[str, ...]) -> bool:
    return tail[0] not in _PER and all(word in _PARTS for word in tail)
