"""Six weekends of many parts on a few printers; parts are the sample's, amounts are invented.

Amounts are such that the work fills much of a weekend: 20 to 45 hours for each printer.
All parts of a weekend are of one colour (two on the weekends that say so), so that plates may
be mixed as the hours want it.
"""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING

from planner.handover.parts import ready_parts
from planner.job.demand import needs
from planner.job.load import load_job
from planner.job.model import Window
from planner.shipped import workshop_dir

if TYPE_CHECKING:
    from planner.handover.model import ReadyPart
    from planner.job.model import Job

HOURS = ((0, 5), (14, 18), (20, 29), (39, 50), (72, 77), (96, 101), (120, 125), (144, 149))
"""Hours of presence from Friday, 18:00: Fri 18-23, Sat 8-12 and 14-23, Sun 9-20, evenings."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mix:
    """One weekend: copies in all, printers (profile, may run alone), weights of the parts."""

    name: str
    copies: int
    machines: tuple[tuple[str, bool], ...]
    weights: dict[str, int]
    seed: int
    second_colour: tuple[str, ...] = ()


_BED = {"s": "compact_180", "m": "open_frame_220", "l": "enclosed_300"}

LARGE = {"panel": 4, "panel_half": 3, "rail": 2, "bin_small": 3, "standoff": 3, "trim_edge": 2}
HOOKS = {"hook_single": 5, "hook_double": 4, "wrench_cradle": 3, "hose_cradle": 1, "hanger": 4}
SMALL = {"standoff": 6, "cap": 4, "trim_edge": 4, "label_plate": 3, "panel": 2, "hook_single": 5}
MIXED = {**LARGE, "hook_single": 4, "hook_double": 3, "bin_large": 1, "spoke_holder": 1}
MANY = {**SMALL, "panel": 4, "panel_half": 4, "hook_double": 4, "wrench_cradle": 4, "bin_small": 3}
HEAVY = {**LARGE, "shelf_bracket": 2, "hose_cradle": 1, "screwdriver_rack": 1}


def _printers(kinds: str) -> tuple[tuple[str, bool], ...]:
    """Read beds from letters; the printer of a capital one must not run alone."""
    return tuple((_BED[letter.lower()], letter.islower()) for letter in kinds)


MIXES = (
    Mix(name="120 large on 3", copies=120, machines=_printers("sml"), weights=LARGE, seed=1),
    Mix(name="120 hooks on 3", copies=120, machines=_printers("Msl"), weights=HOOKS, seed=2),
    Mix(name="240 small on 3", copies=240, machines=_printers("mml"), weights=SMALL, seed=3),
    Mix(name="300 mixed on 8", copies=300, machines=_printers("ssmmMlll"), weights=MIXED, seed=4),
    Mix(
        name="300 heavy on 8, two colours",
        copies=300,
        machines=_printers("ssssmmll"),
        weights=HEAVY,
        seed=5,
        second_colour=("bin_small", "rail", "trim_edge"),
    ),
    Mix(name="400 sundry on 8", copies=400, machines=_printers("sssmmMml"), weights=MANY, seed=6),
)


def weekend_of_parts(mix: Mix) -> tuple[Job, tuple[ReadyPart, ...]]:
    """Return the job and its parts, laid in layers and timed."""
    sample = load_job(workshop_dir() / "job.yaml")
    made = {ready.part.name: ready for ready in ready_parts(sample, needs(sample))}
    rng = random.Random(mix.seed)
    names = sorted(mix.weights)
    drawn = Counter(
        rng.choices(names, [mix.weights[name] for name in names], k=mix.copies - len(names))
    )
    settings = made["panel"].part.settings
    parts = tuple(
        replace(
            made[name],
            part=replace(
                made[name].part,
                settings=settings,
                colour="red" if name in mix.second_colour else "grey",
                mating=False,
                stage=1,
            ),
            filament=made["panel"].filament,
            need=replace(made[name].need, to_print=1 + drawn[name], needed=1 + drawn[name]),
        )
        for name in names
    )
    return _job(sample, mix), parts


def _job(sample: Job, mix: Mix) -> Job:
    profiles = {machine.printer.name.split(" ")[0]: machine.printer for machine in sample.machines}
    machines = tuple(
        replace(
            sample.machines[0],
            name=f"{profile} {number}",
            printer=profiles[profile],
            unattended=alone,
        )
        for number, (profile, alone) in enumerate(mix.machines, 1)
    )
    grey = next(spool for spool in sample.spools if spool.colour == "grey")
    spools = tuple(
        replace(grey, name=f"{colour} {number}", colour=colour, left_g=4000.0)
        for colour in ("grey", "red")
        for number in range(1, len(machines) + 1)
    )
    attendance = tuple(
        Window(
            who="crew",
            start=sample.start + timedelta(hours=begin),
            end=sample.start + timedelta(hours=end),
        )
        for begin, end in HOURS
    )
    return replace(
        sample,
        deadline=None,
        machines=machines,
        spools=spools,
        attendance=attendance,
    )
