"""What is to be said of a part's build direction, strength and screws once they are worked out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.audit.model import Finding
from planner.handover.orientation import KEEPS, Oriented, Unsolved
from planner.settings.model import Level

if TYPE_CHECKING:
    from collections.abc import Iterator

    from planner.job.model import Part
    from planner.strength.hanging import Hanging
    from planner.strength.model import Direction, Orientation

WORTH_TURNING = 1.25
"""A direction that bears so many times as much is worth a word (invented)."""

OVERHEAD = "overhead"
"""Tag of parts under which people are."""


def strength_findings(
    part: Part, found: Oriented | Unsolved, wanted: float = 2.0
) -> tuple[Finding, ...]:
    """Say what the direction costs, and whether the loads are near what part and screws hold.

    `wanted` is the predicted factor below which a load is told of.
    """
    if isinstance(found, Unsolved):
        return tuple(_unsolved(part, found))
    of_screws = _screws(part, found.hanging) if found.hanging else ()
    return (*_direction(part, found, wanted), *_factor(part, found, wanted), *of_screws)


def _direction(part: Part, found: Oriented, wanted: float) -> Iterator[Finding]:
    orientation = found.orientation
    best, given = orientation.practical, orientation.as_given
    factors = f"a predicted factor of {given.safety_factor:.2g} against {best.safety_factor:.2g}"
    if found.turned:
        yield _finding(
            part,
            KEEPS,
            Level.NOTE,
            found=f"turned from {'declared' if part.up_declared else 'drawn'} {given.name} "
            f"to {_written(best)}",
            expected="the direction that bears most, standing and with little support",
            why=f"{given.name} up costs {orientation.cost:.1f} x of the strength of {best.name} "
            f"up: {factors}",
            remedy=f"write up: {_written(best)} to keep it so, or plan with --orient declared",
            source=_source(orientation),
        )
    elif orientation.cost >= WORTH_TURNING:
        enough = given.safety_range[0] >= wanted
        yield _finding(
            part,
            KEEPS,
            Level.NOTE if enough else Level.WARN,
            found=f"{_said(part, given)} costs {orientation.cost:.1f} x of the strength of "
            f"{best.name} up",
            expected=f"less than {WORTH_TURNING:g} x",
            why=f"{factors}; layers part from each other at a third to two thirds of the strength "
            "along them",
            remedy=f"write up: {_written(best)}, or plan with --orient auto",
            source=_source(orientation),
        )
    elif KEEPS in part.exceptions:
        yield _finding(
            part,
            KEEPS,
            Level.NOTE,
            found=f"{_said(part, given)}, a predicted factor of {given.safety_factor:.2g}",
            expected="this way up: none that stands with little support bears more"
            if best.name == given.name
            else f"{best.name} up, a predicted factor of {best.safety_factor:.2g}",
            why="the exception is kept in sight",
            remedy="turn it as it suits: no direction that stands bears much more",
            source=_source(orientation),
        )
    elif not part.up_declared:
        yield _finding(
            part,
            KEEPS,
            Level.NOTE,
            found=f"{_said(part, given)}, and the part carries a load",
            expected="a declared build direction (up:) for a part that carries a load",
            why=f"as drawn it bears {given.safety_factor:.2g} times its load; somebody may turn "
            "the part who does not know of the load",
            remedy=f"write up: {_written(given)} to keep it so",
            source=_source(orientation),
        )


def _factor(part: Part, found: Oriented, wanted: float) -> Iterator[Finding]:
    orientation = found.orientation
    used = orientation.practical if found.turned else orientation.as_given
    low, high = used.safety_range
    if used.safety_factor >= wanted:
        return
    place = ", ".join(f"{x:.3g}" for x in used.weakest_mm)
    yield _finding(
        part,
        "strength under load",
        Level.STOP if high < 1.0 or OVERHEAD in part.tags else Level.WARN,
        found=f"a predicted factor of {used.safety_factor:.2g} ({low:.2g} to {high:.2g}), the "
        f"layers weakest around [{place}] mm",
        expected=f"at least {wanted:g}",
        why=f"{'even the strongest material published would not bear it; ' if high < 1 else ''}"
        f"{orientation.caution}",
        remedy="lessen the load, thicken the part there, add walls, or take a stronger "
        "material; then test one to failure",
        source=_source(orientation),
    )


def _screws(part: Part, found: Hanging) -> Iterator[Finding]:
    screws = len(found.at_mm)
    if found.used <= 1.0 and screws >= found.needed:
        return
    worst = found.load.loads[0]
    screwed = found.screwed
    yield _finding(
        part,
        "fixings",
        Level.STOP if OVERHEAD in part.tags else Level.WARN,
        found=f"{screws} screws, of which the worst bears {worst.shear_n:.0f} N of shear and "
        f"{worst.pull_n:.0f} N of pull: {100 * found.used:.0f} % of what it may",
        expected=f"{found.needed} such screws, spread alike, each for "
        f"{screwed.rated_n:g} N / {screwed.factor:g}",
        why=found.load.cautions[0],
        remedy="add screws further up, take stronger anchors, or hang less on it",
        source="moment balance about the lower edge on the wall (bolts under an eccentric load); "
        + "; ".join(found.assumptions),
    )


def _unsolved(part: Part, found: Unsolved) -> Iterator[Finding]:
    for problem in found.problems:
        yield _finding(
            part,
            "strength under load",
            Level.NOTE,
            found=f"not worked out: {problem.found}",
            expected=problem.expected,
            why="without it only angles are compared",
            remedy=problem.remedy,
            source="the solver of stresses",
        )


def _finding(
    part: Part,
    rule: str,
    level: Level,
    *,
    found: str,
    expected: str,
    why: str,
    remedy: str,
    source: str,
) -> Finding:
    return Finding(
        rule=rule,
        level=level,
        part=part.name,
        where=part.where,
        found=found,
        expected=expected,
        why=why,
        remedy=remedy,
        source=source,
    )


def _said(part: Part, given: Direction) -> str:
    return f"{'declared' if part.up_declared else 'up is not declared, drawn'} {given.name}"


def _source(orientation: Orientation) -> str:
    doubts = "; ".join(orientation.warnings) or "what is taken for granted stands in the report"
    return f"stresses worked out on the part; {doubts}"


def _written(one: Direction) -> str:
    if one.name[0] in "+-":
        return one.name
    return "[" + ", ".join(f"{x:.3f}" for x in one.up) + "]"
