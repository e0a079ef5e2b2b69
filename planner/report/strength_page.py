"""The strength of the parts that carry a load, as the page and the terminal show it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from planner.handover.orientation import Oriented
from planner.report.screen import flow, print_table, right, say
from planner.report.strength_picture import strength_picture
from planner.report.strength_words import fixings_words
from planner.report.words import plain

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from rich.console import Console

    from planner.handover.model import Plan
    from planner.strength.hanging import Hanging
    from planner.strength.model import Direction

View = dict[str, Any]


def strength_view(plan: Plan) -> View:
    """Return what the page says of strength: parts, what is taken for granted, the caution."""
    solved = list(_solved(plan))
    orientations = [found.orientation for found in solved]
    return {
        "parts": [_part(found) for found in solved],
        "wanted": f"{plan.job.safety_factor:g}",
        "assumptions": _once(text for one in orientations for text in one.assumptions),
        "caution": orientations[0].caution if orientations else "",
        "fixing_cautions": _once(
            text for one in solved if one.hanging for text in one.hanging.load.cautions
        ),
    }


def print_strengths(console: Console, plan: Plan) -> None:
    """Print one line per part that carries a load."""
    rows = [_cells(found) for found in _solved(plan)]
    if not rows:
        return
    heads = ("Up", "Factor", "from-to", "MPa", "Best up", "Costs")
    print_table(console, "Strength under load", (*flow("Part"), *right(*heads)), rows)
    told = "Factor: predicted strength per load; MPa: tension across the layers; best up: of those "
    told += "that stand with little support. A computed factor is no promise: test one to failure "
    say(console, told + "before you trust it overhead.", "dim")
    for found in _solved(plan):
        if found.hanging is not None:
            say(console, f"{found.name}: {_screwed(found.hanging)}")


def _screwed(found: Hanging) -> str:
    """Say in a line what the screws of a part bear, and who comes first."""
    worst = found.load.loads[0]
    return (
        f"{len(found.at_mm)} screws into the wall, {found.needed} needed; the worst bears "
        f"{worst.shear_n:.0f} N of shear and {worst.pull_n:.0f} N of pull, "
        f"{100 * worst.used:.0f} % of {found.screwed.rated_n:g} N / {found.screwed.factor:g}; "
        f"{found.load.cautions[0]}."
    )


def _cells(found: Oriented) -> list[str]:
    used, other = _used(found), found.orientation.practical
    low, high = used.safety_range
    better = other != used
    return [
        found.name,
        _short(used.name),
        f"{used.safety_factor:.1f}",
        f"{low:.1f}-{high:.1f}",
        f"{used.layer_tension_mpa:.1f}",
        _short(other.name) if better else "as is",
        f"{found.orientation.cost:.1f} x" if better else "",
    ]


def _short(name: str) -> str:
    return name.replace(", ", ",")


def _solved(plan: Plan) -> Iterator[Oriented]:
    for found in plan.strengths.values():
        if isinstance(found, Oriented):
            yield found


def _used(found: Oriented) -> Direction:
    """Return the direction that is printed."""
    return found.orientation.practical if found.turned else found.orientation.as_given


def _part(found: Oriented) -> View:
    orientation, used = found.orientation, _used(found)
    low, high = used.safety_range
    return {
        "name": found.name,
        "up": used.name,
        "factor": f"{used.safety_factor:.2g}",
        "range": f"{low:.2g} to {high:.2g}",
        "tension": f"{used.layer_tension_mpa:.3g}",
        "shear": f"{used.layer_shear_mpa:.3g}",
        "place": ", ".join(f"{x:.3g}" for x in used.weakest_mm),
        "governed": used.governed_by,
        "reason": orientation.reason,
        "warnings": orientation.warnings,
        "picture": Markup(strength_picture(found)),  # noqa: S704 - escaped where it is drawn
        "fixings": None if found.hanging is None else _fixings(found.hanging),
    }


def _fixings(found: Hanging) -> View:
    return {
        "words": fixings_words(found),
        "loads": [
            {
                "at": ", ".join(f"{x:g}" for x in at),
                "shear": f"{one.shear_n:.0f}",
                "pull": f"{one.pull_n:.0f}",
                "used": f"{100 * one.used:.0f}",
            }
            for at, one in zip(found.at_mm, found.load.loads, strict=True)
        ],
    }


def _once(texts: Iterable[str]) -> list[str]:
    return list(dict.fromkeys(plain(text) for text in texts))
