"""Whether the filament on the shelf is enough."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.audit import sources
from planner.audit.model import Finding
from planner.settings.model import Level

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from planner.job.model import Job

SPARE = 0.05
"""Share of a spool that priming, brims and failed starts take; common practice, no source."""

Lot = tuple[str, str | None]
"""(material, colour); None is: whatever is left over."""


def spools(job: Job, grams: Mapping[str, float]) -> Iterator[Finding]:
    """Hold the need per material and colour against the shelf; `grams` is part -> total g.

    Parts of any colour may use every spool of the material, so it is enough to compare
    each colour on its own and each material as a whole (Hall's condition for this case).
    """
    needs = _needs(job, grams)
    for material in sorted({lot[0] for lot in needs}):
        lots = {colour: mass for (name, colour), mass in needs.items() if name == material}
        shelf = _on_shelf(job, material)
        if not shelf:
            yield _none_at_all(job, material, sum(lots.values()))
            continue
        found = [
            finding
            for colour in sorted(colour for colour in lots if colour is not None)
            for finding in _short(job, f"{material}, {colour}", lots[colour], shelf.get(colour, 0))
        ]
        yield from found
        if not found:
            everything = f"{material} in all colours"
            yield from _short(job, everything, sum(lots.values()), sum(shelf.values()))


def _needs(job: Job, grams: Mapping[str, float]) -> dict[Lot, float]:
    needs: dict[Lot, float] = {}
    for name in sorted(grams):
        if grams[name] > 0:
            part = job.parts[name]
            colour = None if part.colour is None else part.colour.casefold()
            lot = (part.settings.material.casefold(), colour)
            needs[lot] = needs.get(lot, 0.0) + grams[name]
    return needs


def _on_shelf(job: Job, material: str) -> dict[str, float]:
    """Return colour -> grams left on all spools of the material."""
    left: dict[str, float] = {}
    for spool in job.spools:
        if spool.filament.material.casefold() == material:
            colour = spool.colour.casefold()
            left[colour] = left.get(colour, 0.0) + spool.left_g
    return left


def _short(job: Job, what: str, need_g: float, have_g: float) -> Iterator[Finding]:
    if need_g <= have_g * (1 - SPARE):
        return
    lacking = need_g - have_g
    short = lacking > 0
    yield Finding(
        rule="spools",
        level=Level.WARN if short else Level.NOTE,
        part="",
        where=str(job.path),
        found=f"{have_g:.0f} g of {what} for a need of {need_g:.0f} g: "
        + (f"{lacking:.0f} g short" if short else "little to spare"),
        expected=f"at least {need_g / (1 - SPARE):.0f} g, {SPARE * 100:g} % kept in hand",
        why="priming, brims and failed starts use filament too, and a spool that runs out "
        "spoils its plate",
        remedy=f"add a spool with at least {need_g / (1 - SPARE) - have_g:.0f} g of {what} to "
        "spools, or lower the quantities",
        source=f"{sources.ARITHMETIC}; the share in hand is common practice, no source",
    )


def _none_at_all(job: Job, material: str, need_g: float) -> Finding:
    return Finding(
        rule="spools",
        level=Level.STOP,
        part="",
        where=str(job.path),
        found=f"no spool of {material}",
        expected=f"spools with {need_g:.0f} g of {material}",
        why="nothing of this material can be printed",
        remedy=f"add the spools of {material} to spools, or change the material of the parts",
        source=sources.ARITHMETIC,
    )
