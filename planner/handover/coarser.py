"""A job in coarser layers, wherever its parts may have them."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from planner.audit.guideline import applying
from planner.audit.rules.bead import LAYER_SHARE
from planner.settings.model import Level

if TYPE_CHECKING:
    from planner.job.model import Job, Part
    from planner.settings.model import Rule

COARSE_MM = 0.28
"""Layers that a nozzle of 0.4 mm still lays well (70 % of it): common practice, no source."""


def coarser(job: Job, layer_mm: float) -> Job:
    """Return the job with layers of `layer_mm` where they are finer and may be as coarse.

    A part keeps its layers where they would be more of the nozzle than lays well, or where
    the guideline forbids them. A first layer is never thinner than the others.
    """
    parts = {
        name: _coarser(part, layer_mm) if may_be_coarser(job, part, layer_mm) else part
        for name, part in job.parts.items()
    }
    return replace(job, parts=parts)


def may_be_coarser(job: Job, part: Part, layer_mm: float) -> bool:
    """Tell whether a part has finer layers, and could have layers of `layer_mm`."""
    settings = part.settings
    if not settings.layer_mm < layer_mm <= LAYER_SHARE[1] * settings.nozzle_mm:
        return False
    rules = applying(job.guideline, part=part.name, tags=part.tags)
    return not any(rule.level == Level.STOP and _forbids(rule, layer_mm) for rule in rules)


def _forbids(rule: Rule, layer_mm: float) -> bool:
    if rule.key != "layer_mm":
        return False
    too_high = rule.at_most is not None and layer_mm > rule.at_most
    too_low = rule.at_least is not None and layer_mm < rule.at_least
    return too_high or too_low or (bool(rule.one_of) and layer_mm not in rule.one_of)


def _coarser(part: Part, layer_mm: float) -> Part:
    own = part.settings
    settings = replace(
        own,
        name=f"{own.name}, layers {layer_mm:g} mm",
        layer_mm=layer_mm,
        first_layer_mm=max(own.first_layer_mm, layer_mm),
    )
    return replace(part, settings=settings)
