"""The job as the rest of the program sees it: frozen, complete and checked.

Paths are resolved, names are looked up, times carry their zone. `where` fields are
"file:line", for messages.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import inf
from typing import TYPE_CHECKING, Literal

from planner.settings.turns import QUARTER_TURNS

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime
    from pathlib import Path

    from planner.job.change import Change
    from planner.job.layout.model import Walls
    from planner.settings.model import Filament, Guideline, Printer, Settings
    from planner.settings.turns import Turns


GRAVITY_N_KG = 9.80665
"""Standard gravity: what a kilogram weighs in newtons (3rd CGPM, 1901)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Plane:
    """A plane in the part's own frame: a point on it, and the unit vector across it."""

    point_mm: tuple[float, float, float]
    normal: tuple[float, float, float]


Placing = Literal["compact", "centre", "spread"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Face:
    """A patch of a part's surface, in the part's own frame: an extreme face, a box or a plane.

    `axis` is one of "+x -x +y -y +z -z": all surface within `tolerance_mm` of the part's
    extreme in that direction. `box_mm` is ((x, y, z) lowest, (x, y, z) highest). `plane`
    takes all surface within `tolerance_mm` of it. Exactly one of the three is given.
    """

    axis: str | None = None
    box_mm: tuple[tuple[float, float, float], tuple[float, float, float]] | None = None
    tolerance_mm: float = 0.2
    plane: Plane | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadCase:
    """A force or moment on one face while another is held, in the part's own frame.

    The moment acts about the middle of the face (right hand). `down` is the unit vector to
    the ground as the part hangs, given where its own weight counts. `warm_c` is the warmest
    it gets under the load; None means a room.
    """

    force_n: tuple[float, float, float]
    on: Face
    held: Face
    sustained: bool
    where: str = ""
    moment_nmm: tuple[float, float, float] = (0.0, 0.0, 0.0)
    down: tuple[float, float, float] | None = None
    warm_c: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Screwed:
    """Screws, alike, that hold a part to the wall; places in the part's own frame.

    `wall` is the unit vector to the wall. An anchor is rated at `rated_n`, of which it may
    bear the share 1 / `factor`.
    """

    at_mm: tuple[tuple[float, float, float], ...]
    wall: tuple[float, float, float]
    rated_n: float
    factor: float
    where: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One kind of part. `up` is the unit build direction in the part's frame.

    `unit` is the unit the mesh is drawn in, or None where the file may say it itself
    (3MF) and millimetres are meant otherwise. `exceptions` maps a rule's key to the reason
    why this part may break it. `mating` parts go on the first-article plate. `visible` are
    the faces in sight (an axis: all that faces that way), none where nothing was said.
    `value` is what all the copies wanted by themselves are worth once complete, None likewise.
    """

    name: str
    mesh: Path
    unit: str | None
    quantity: int
    stock: int
    up: tuple[float, float, float]
    up_declared: bool
    loads: tuple[LoadCase, ...]
    settings: Settings
    colour: str | None
    exceptions: Mapping[str, str]
    tags: tuple[str, ...]
    stage: int
    mating: bool
    where: str
    visible: tuple[Face, ...] = ()
    fixings: Screwed | None = None
    turns: Turns = QUARTER_TURNS
    value: float | None = None
    spares: int | None = None
    """Spare copies, where the user has said how many."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Assembly:
    """A thing made of parts and other assemblies; `contains` maps a name to a count.

    `value` is what all the wanted ones are worth once complete, None where nothing was said.
    """

    name: str
    quantity: int
    stock: int
    contains: Mapping[str, int]
    where: str
    value: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Blocked:
    """A stretch during which a printer must not run (aware times); `why` says it in words."""

    start: datetime
    end: datetime
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine:
    """One printer that stands in the workshop. `name` is the user's.

    `measured_w` is its mean power while printing as somebody measured it, `wear_per_hour`
    what an hour of printing costs it in the job's currency; None where nothing was said.

    It does not run while it is `blocked`. After each print it cools for `cool_down_s` before
    the plate is taken off. One that `changes_over` goes on by itself from a spool that ends
    to a second one.
    """

    name: str
    printer: Printer
    unattended: bool
    where: str
    measured_w: float | None = None
    wear_per_hour: float | None = None
    blocked: tuple[Blocked, ...] = ()
    cool_down_s: float = 0.0
    changes_over: bool = False

    @property
    def power_w(self) -> float:
        """Mean power while printing: as measured, else as in the profile."""
        return self.printer.power_w if self.measured_w is None else self.measured_w


@dataclass(frozen=True, slots=True, kw_only=True)
class Spool:
    """A spool on the shelf; `drying_s` is how long it has to dry before it can feed."""

    name: str
    filament: Filament
    colour: str
    left_g: float
    price_per_kg: float
    where: str
    drying_s: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """A stretch of time during which `who` is there to change plates (aware times)."""

    who: str
    start: datetime
    end: datetime
    where: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateFailures:
    """Chance that a whole plate fails: in its first layer, and per hour of printing after it."""

    first_layer: float
    per_hour: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PartPin:
    """A copy of the batch that stays where a person laid it.

    Pins of one `plate`, a number of the person's own, share a plate on the kind of bed that
    `machine` has. x, y and the turn place the posed part as in the plan. `where` is its line.
    """

    plate: int
    machine: str
    part: str
    x_mm: float
    y_mm: float
    rotation_deg: float
    where: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Plating:
    """What plates shall be like, besides few; groups are of part names.

    Parts `together` share one plate of the batch, parts `apart` never do. `placing` is compact,
    centre or spread. `parts_max` and `seconds_max` limit every plate.
    """

    together: tuple[tuple[str, ...], ...] = ()
    apart: tuple[tuple[str, ...], ...] = ()
    pins: tuple[PartPin, ...] = ()
    placing: Placing = "compact"
    parts_max: float = inf
    seconds_max: float = inf
    together_at: tuple[str, ...] = ()
    """The line of each group that is `together`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """Copies that are wanted besides a thing's own quantity, and why: "7 shared edges"."""

    count: int
    because: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """All that the user told us; see the README for the meaning of each key."""

    name: str
    path: Path
    time_zone: str
    start: datetime
    deadline: datetime | None
    parts: Mapping[str, Part]
    assemblies: Mapping[str, Assembly]
    machines: tuple[Machine, ...]
    spools: tuple[Spool, ...]
    attendance: tuple[Window, ...]
    guideline: Guideline
    filaments: Mapping[str, Filament]
    """Material name -> filament used for its density and temperatures."""
    confidence: float
    failure_rate: float
    plate_failures: PlateFailures
    hands_on_s: float
    fit_check_s: float
    clearance_mm: float
    edge_mm: float
    electricity_per_kwh: float
    currency: str
    plating: Plating = Plating()
    notes: Mapping[str, str] = field(default_factory=dict)
    new_spool_g: float = 1000.0
    """Filament on a spool to buy: common practice, no source."""
    what_if: tuple[Change, ...] = ()
    """Changes that are to be compared; empty where that is left to us."""
    finish_confidence: float | None = None
    """Wanted odds that all is there by the deadline, for which spares and plan are chosen."""
    safety_factor: float = 2.0
    """Wanted predicted strength of a part per load that it carries."""
    walls: Walls | None = None
    by_walls: Mapping[str, Wanted] = field(default_factory=dict)
    """Part or assembly -> what the walls need of it; empty until they have been counted."""
    by_kits: tuple[Mapping[str, int], ...] = ()
    """Part -> copies that each kit of the walls and all before it need; empty likewise."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """How many copies of a part: `needed` good ones net of stock, `to_print` with spares.

    `because` says where the number comes from, e.g. "bay x 8: 6 each = 48; stock 2".
    """

    part: str
    needed: int
    from_stock: int
    spares: int
    to_print: int
    odds: float
    because: str
