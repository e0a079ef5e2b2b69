"""The plan, and the two things it is made of besides the weekend: parts and plates.

Everything here is a finished result; the reports read it and change nothing.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from types import MappingProxyType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from planner.audit.model import Finding
    from planner.handover.confidence import Promise
    from planner.handover.kits import KitReady
    from planner.handover.orientation import Oriented, Unsolved
    from planner.handover.spares import SpareAdvice
    from planner.handover.walls import Built
    from planner.job.model import Job, Need, Part
    from planner.layers.model import Layering, PrintTime
    from planner.nest.model import Placement
    from planner.schedule.model import WeekendPlan
    from planner.schedule.odds.model import Odds
    from planner.settings.model import Filament, Printer
    from planner.solid.model import Posed


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadyPart:
    """A part with its mesh read, posed, laid in layers and timed on each printer profile.

    `grams` is per copy, bracketed by `grams_range`; `grams_reasons` say why. `times` maps a
    printer profile's name to the time of one copy. The layering has lost its paths, which
    only timing needs.
    """

    part: Part
    need: Need
    filament: Filament
    posed: Posed
    layering: Layering
    times: Mapping[str, PrintTime]
    grams: float
    grams_range: tuple[float, float]
    grams_reasons: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedPlate:
    """A plate to be printed once: what lies on it, what it takes, where it can run.

    `kind` is "first article" or "batch". `seconds` maps each machine that can print it to
    the time from start to plate free, `ranges_s` to what brackets that.
    `gate` names first-article plates to be checked before.
    """

    id: str
    kind: str
    printer: Printer
    placements: tuple[Placement, ...]
    fill: float
    nozzle_mm: float
    layer_mm: float
    material: str
    colour: str | None
    grams: float
    seconds: Mapping[str, float]
    ranges_s: Mapping[str, tuple[float, float]]
    stage: int
    gate: tuple[str, ...]

    @property
    def counts(self) -> dict[str, int]:
        """Copies per part, by name."""
        names = sorted({placement.id for placement in self.placements})
        return {name: sum(p.id == name for p in self.placements) for name in names}


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateBound:
    """How few plates any packing of one group could do with, and by which argument."""

    group: str
    plates: int
    lower_bound: int
    bound_by: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HoursWon:
    """The chosen plates beside full ones, packed first and scheduled with as much work.

    Of each: how many plates, when the last ends, and how many copies are not printed.
    """

    full_plates: int
    full_finish: datetime | None
    full_missing: int
    plates: int
    finish: datetime | None
    missing: int

    @property
    def won_s(self) -> float | None:
        """How much earlier the chosen plates end; None where copies or ends cannot be compared."""
        if self.full_finish is None or self.finish is None or self.full_missing != self.missing:
            return None
        return (self.full_finish - self.finish).total_seconds()


@dataclass(frozen=True, slots=True, kw_only=True)
class Totals:
    """Sums over the plan; ranges are (low, high). Money in the job's currency."""

    copies: int
    plates: int
    filament_g: float
    filament_range_g: tuple[float, float]
    filament_g_by_material: Mapping[str, float]
    print_s: float
    print_range_s: tuple[float, float]
    hands_on_s: float
    energy_kwh: float
    filament_cost: float
    energy_cost: float
    wear_cost: float = 0.0
    wear_unknown: tuple[str, ...] = ()
    """Printers in use of which nobody said what an hour wears off: not in the sum."""

    @property
    def cost(self) -> float:
        """Filament, electricity and wear together."""
        return self.filament_cost + self.energy_cost + self.wear_cost


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateCost:
    """What one plate costs, in the job's currency; the totals are the sums of these.

    `seconds` and `energy_kwh` are those of the machine it runs on, or of the quickest that
    could print it.
    """

    plate: str
    seconds: float
    energy_kwh: float
    filament: float
    electricity: float
    wear: float

    @property
    def cost(self) -> float:
        """All of it together."""
        return self.filament + self.electricity + self.wear


@dataclass(frozen=True, slots=True, kw_only=True)
class ShoppingLine:
    """Filament of one material and colour (None: any): what is needed, there, and to be bought.

    `shelf_g` is what the spools of it hold. `short_g` is what they lack in sum.
    `without_spool` are the plates that no spool has enough for once the others are fed, so
    there may be some though nothing is short in sum. `spools` are whole new ones of
    `spool_g` each, at `price_per_kg`.
    """

    material: str
    colour: str | None
    need_g: float
    need_range_g: tuple[float, float]
    shelf_g: float
    short_g: float
    without_spool: tuple[str, ...]
    spools: int
    spool_g: float
    price_per_kg: float

    @property
    def cost(self) -> float:
        """Price of the spools to buy."""
        return self.spools * self.spool_g / 1000 * self.price_per_kg

    @property
    def may_lack_g(self) -> float:
        """What is missing after the shopping if all of it takes as much as it may."""
        return max(0.0, self.need_range_g[1] - self.shelf_g - self.spools * self.spool_g)


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """The weekend, ready to be told. `left_out` maps a part to why it is on no plate."""

    job: Job
    parts: tuple[ReadyPart, ...]
    plates: tuple[PlannedPlate, ...]
    plate_bounds: tuple[PlateBound, ...]
    weekend: WeekendPlan
    findings: tuple[Finding, ...]
    left_out: tuple[tuple[str, int, str], ...]
    totals: Totals
    odds: float
    """Chance that every part comes out in the wanted number (spares counted)."""
    weekend_odds: Odds | None
    """How often the weekend comes out, plates failing and hours varying; None if it is empty."""
    cautions: tuple[str, ...]
    strengths: Mapping[str, Oriented | Unsolved] = field(
        default_factory=lambda: MappingProxyType({})
    )
    """Part -> its strength under its loads; without those that were not worked out."""
    costs: tuple[PlateCost, ...] = ()
    """What each plate costs, in the order of the plates."""
    shopping: tuple[ShoppingLine, ...] = ()
    """Filament by material and colour, with what must be bought."""
    spares: SpareAdvice | None = None
    """What spare copies do for the odds; None if nothing was planned, or a part is missing."""
    promise: Promise | None = None
    """What the plan holds out; None unless the job wants odds of its finish."""
    hours: HoursWon | None = None
    """What plates made for the hours win over full ones; None if that was not compared."""
    walls: Built | None = None
    """The walls of the job, counted and mounted; None if it has none."""
    kits: tuple[KitReady, ...] = ()
    """Kits of the walls in the order of mounting, and from when each is complete."""

    @property
    def must_stop(self) -> bool:
        """Whether any finding says: do not print."""
        return any(finding.level == "stop" for finding in self.findings)
