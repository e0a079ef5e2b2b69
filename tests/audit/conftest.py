"""Builders of sound things; a test changes the one value that it is about."""

from dataclasses import replace
from datetime import datetime
from pathlib import Path
from types import MappingProxyType
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from planner.audit.subject import Subject
from planner.job.model import Face, Job, LoadCase, Machine, Need, Part, PlateFailures, Spool, Window
from planner.layers.model import FEATURES, Layering, PrintTime
from planner.settings.model import (
    Bead,
    Feature,
    Filament,
    Guideline,
    Level,
    Printer,
    Rule,
    Settings,
)
from planner.solid.model import Footprint, Posed, Solid
from planner.strength.angle import LayerPull

ZONE = ZoneInfo("Europe/Lisbon")
WHERE = "job.yaml:40"

SOUND = Settings(
    name="sturdy",
    material="pla",
    nozzle_mm=0.4,
    layer_mm=0.2,
    first_layer_mm=0.2,
    line_width_mm=0.45,
    walls=3,
    top_layers=4,
    bottom_layers=4,
    infill=0.2,
    infill_pattern="lines",
    nozzle_c=205,
    bed_c=55,
    fan=1.0,
    speed_mm_s=MappingProxyType(
        {feature: 150.0 if feature is Feature.TRAVEL else 60.0 for feature in Feature}
    ),
    acceleration_mm_s2=1000,
    flow_max_mm3_s=12,
    layer_time_min_s=8,
    retract_mm=1,
    support=False,
    overhang_deg=45,
    brim_mm=0,
    bead=Bead.RECTANGLE,
    origin=MappingProxyType({}),
)

PLA = Filament(
    name="pla",
    material="pla",
    density_g_cm3=1.24,
    diameter_mm=1.75,
    nozzle_c=(190, 220),
    bed_c=(45, 65),
    infill=(0.15, 0.4),
    flow_max_mm3_s=15,
    glass_transition_c=60,
    price_per_kg=20,
)

OPEN = Printer(
    name="open_220",
    bed_width_mm=220,
    bed_depth_mm=200,
    height_mm=250,
    nozzle_mm=0.4,
    nozzle_c_max=260,
    bed_c_max=100,
    enclosed=False,
    speed_max_mm_s=150,
    acceleration_max_mm_s2=1500,
    corner_speed_mm_s=8,
    flow_max_mm3_s=12,
    power_w=120,
    start_s=300,
    end_s=300,
)


def settings(**changes):
    """Sound settings with some keys changed; `speed` sets every feature but travel."""
    speed = changes.pop("speed", None)
    if speed is not None:
        every = {f: SOUND.speed_mm_s[f] if f is Feature.TRAVEL else speed for f in Feature}
        changes["speed_mm_s"] = MappingProxyType(every)
    return replace(SOUND, **changes)


def filament(**changes):
    return replace(PLA, **changes)


def printer(**changes):
    return replace(OPEN, **changes)


def machine(name="bench", *, unattended=False, **changes):
    return Machine(
        name=name, printer=printer(**changes), unattended=unattended, where="job.yaml:90"
    )


def rule(key="walls", **changes):
    """Return a rule with a made-up reason; give it one demand."""
    values = {"key": key, "level": Level.WARN, "why": "it bends", "source": "a test"} | changes
    return Rule(**values)


def guideline(*rules):
    return Guideline(name="everyday", rules=rules)


def subject(part="hook", where=WHERE, filament=PLA, **changes):
    return Subject(settings=settings(**changes), filament=filament, part=part, where=where)


def load(force_n=(0, 0, -40), *, sustained=False):
    return LoadCase(
        force_n=force_n, on=Face(axis="+x"), held=Face(axis="-x"), sustained=sustained, where=WHERE
    )


def pull(crossing, *, better_up="+x", better_crossing=0.0):
    return LayerPull(
        load_angle_deg=0,
        lever_angle_deg=0,
        lever_mm=50,
        crossing=crossing,
        better_up=better_up,
        better_crossing=better_crossing,
        verdict="",
    )


def part(name="hook", **changes):
    values = {
        "name": name,
        "mesh": Path(f"{name}.stl"),
        "unit": "mm",
        "quantity": 1,
        "stock": 0,
        "up": (0.0, 0.0, 1.0),
        "up_declared": True,
        "loads": (),
        "settings": SOUND,
        "colour": None,
        "exceptions": MappingProxyType({}),
        "tags": (),
        "stage": 1,
        "mating": True,
        "where": WHERE,
    }
    return Part(**(values | changes))


def posed(size=(60.0, 40.0, 20.0), *, ceilings=(), repairs=(), invented=0.0, **changes):
    """Return a block that stands on its largest face, as far as the audit looks at it.

    `ceilings` are (x, y, width, depth) of rectangles that face down, 10 mm over the plate.
    """
    wide, deep, high = size
    corners = np.array([[x, y, z] for x in (0, wide) for y in (0, deep) for z in (0, high)])
    squares = [[[x, y], [x, y + d], [x + w, y + d], [x + w, y]] for x, y, w, d in ceilings]
    flat = np.array(squares, dtype=np.float64).reshape(-1, 2)
    corners = np.vstack([corners, np.column_stack([flat, np.full(len(flat), 10.0)])])
    firsts = 8 + 4 * np.arange(len(ceilings))
    triangles = firsts[:, None] + np.array([0, 1, 2, 0, 2, 3])
    solid = Solid(
        name="hook.stl",
        vertices_mm=corners,
        triangles=triangles.reshape(-1, 3).astype(np.int32),
        closed=invented == 0,
        volume_mm3=float(np.prod(size)),
        repairs=repairs,
        invented=invented,
        digest="0",
    )
    outline = np.array([[0, 0], [wide, 0], [wide, deep], [0, deep]], dtype=np.float64)
    values = {
        "solid": solid,
        "up": (0.0, 0.0, 1.0),
        "rotation": np.eye(3),
        "vertices_mm": corners,
        "size_mm": size,
        "contact_mm2": wide * deep,
        "overhang_mm2": 0.0,
        "tip_deg": 45.0,
        "footprint": Footprint(polygons_mm=((outline,),)),
    }
    return Posed(**(values | changes))


def layering(thinnest_mm=float("inf"), layers=1):
    """Return layers of 1 mm without any lines."""
    empty = np.zeros((layers, len(FEATURES)))
    line = np.ones(layers)
    return Layering(
        z_mm=line,
        height_mm=line,
        area_mm2=line,
        length_mm=empty,
        volume_mm3=empty,
        moves=empty,
        thinnest_mm=thinnest_mm,
    )


def times(seconds, layers=1):
    """Return the time of layers that take so many seconds each, on the open printer."""
    by_layer = np.full((layers, len(FEATURES)), seconds / len(FEATURES))
    total = seconds * layers
    time = PrintTime(
        by_layer_s=by_layer,
        layer_time_min_s=0,
        middle_s=total,
        range_s=(total, total),
        reasons=(),
    )
    return {"open_220": time}


def at(day, hour=0):
    """Return an hour of late November 2026, in Lisbon."""
    return datetime(2026, 11, day, hour, tzinfo=ZONE)


def spool(name="grey 1", colour="grey", left_g=1000.0, filament=PLA):
    return Spool(
        name=name,
        filament=filament,
        colour=colour,
        left_g=left_g,
        price_per_kg=20,
        where="job.yaml:95",
    )


def job(*parts, **changes):
    """Return a job with one machine, one spool and a Friday evening."""
    values = {
        "name": "tool wall",
        "path": Path("job.yaml"),
        "time_zone": "Europe/Lisbon",
        "start": at(27, 18),
        "deadline": None,
        "parts": MappingProxyType({each.name: each for each in parts or (part(),)}),
        "assemblies": MappingProxyType({}),
        "machines": (machine(),),
        "spools": (spool(),),
        "attendance": (Window(who="crew", start=at(27, 18), end=at(27, 22), where="job.yaml:99"),),
        "guideline": guideline(),
        "filaments": MappingProxyType({"pla": PLA}),
        "confidence": 0.9,
        "failure_rate": 0.03,
        "plate_failures": PlateFailures(first_layer=0.02, per_hour=0.002),
        "hands_on_s": 480.0,
        "fit_check_s": 1200.0,
        "clearance_mm": 4.0,
        "edge_mm": 3.0,
        "electricity_per_kwh": 0.25,
        "currency": "EUR",
    }
    return Job(**(values | changes))


class Ready:
    """What `audit_job` looks at of a ready part."""

    def __init__(self, part, grams=10.0, to_print=1, seconds=600.0):
        self.part = part
        self.grams = grams
        self.need = Need(
            part=part.name,
            needed=to_print,
            from_stock=0,
            spares=0,
            to_print=to_print,
            odds=1.0,
            because="",
        )
        self.times = times(seconds)


class Build:
    """All builders under one name, for tests to ask for as `build`."""

    settings = staticmethod(settings)
    filament = staticmethod(filament)
    printer = staticmethod(printer)
    machine = staticmethod(machine)
    rule = staticmethod(rule)
    guideline = staticmethod(guideline)
    subject = staticmethod(subject)
    load = staticmethod(load)
    pull = staticmethod(pull)
    part = staticmethod(part)
    posed = staticmethod(posed)
    layering = staticmethod(layering)
    times = staticmethod(times)
    at = staticmethod(at)
    spool = staticmethod(spool)
    job = staticmethod(job)
    Ready = Ready


@pytest.fixture(scope="session")
def build():
    return Build
