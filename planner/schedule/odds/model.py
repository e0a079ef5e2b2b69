"""What can go wrong with a plate, and what that makes of the plan."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Rates:
    """How often a plate fails: in its first layer, and per hour of printing after that.

    The defaults are common practice, no source. Published shares of failed prints run from
    20 % in a household (B. T. Wittbrodt et al., "Life-cycle economic analysis of distributed
    manufacturing with open-source 3-D printers", Mechatronics 23 (2013) 713-726; the number
    from memory) to 41.1 % in an open studio (R. Song and C. Telenko, "Causes of Desktop FDM
    Fabrication Failures in an Open Studio Environment", Procedia CIRP 80 (2019)): whoever
    prints among beginners should raise them.
    """

    first_layer: float = 0.02
    per_hour: float = 0.002
    first_layer_s: float = 600.0
    """How long somebody watches the first layer; a failure in it costs so much."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lived:
    """What became of each trial.

    `ends_s[trial][plate]`, in the order of `plates`, is when the plate was good, in seconds
    after `start`, or None if it never was. `failures[trial]` maps a plate that failed to how
    often it did. `saved[plate]` counts the trials that missed the deadline and would not
    have, had this plate alone not failed; `saved_all` those, had none. `seed` is that of the
    draws, for what else is drawn of the same weekends.
    """

    start: datetime
    due_s: float | None
    plates: tuple[str, ...]
    ends_s: tuple[tuple[int | None, ...], ...]
    failures: tuple[dict[str, int], ...]
    no_filament: int
    saved: dict[str, float]
    saved_all: int
    seed: int = 0

    @property
    def trials(self) -> int:
        """How many weekends were lived."""
        return len(self.ends_s)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateRisk:
    """One plate over all trials, as shares of them.

    `fails`: it failed at least once. `late_by_it`: the weekend was not done by the deadline,
    and would have been, had this plate not failed: what its failures cost in odds.
    """

    plate: str
    fails: float
    late_by_it: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Odds:
    """The share of trials that came out well; each share carries `give_or_take(share)`.

    `by_deadline`: every plate good by the deadline (without one: at all). `if_none_failed`:
    the same, had no plate failed; what is missing to 1 is the doubt about the hours. `done_by`
    gives for a wanted share the time by which so many trials were done, None where not that
    many were. `short_of_filament`: trials that ended because the spools could not feed a
    reprint. `reprints`: plates that failed at least once, per trial. `risks`: the costliest
    plate first.
    """

    trials: int
    by_deadline: float
    done_by: tuple[tuple[float, datetime | None], ...]
    short_of_filament: float
    reprints: float
    risks: tuple[PlateRisk, ...]
    if_none_failed: float = 1.0

    def give_or_take(self, share: float) -> float:
        """Return two standard errors of a share over so many independent trials."""
        return float(2.0 * (share * (1.0 - share) / self.trials) ** 0.5)
