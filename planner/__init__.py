"""Platewright: plans the printing of a modular wall storage system from the mesh files.

The public names are loaded when first used, so that importing the package costs nothing.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from planner.errors import InputError, Problem
    from planner.job.load import load_job
    from planner.job.model import Job
    from planner.plan import make_plan

_HOMES = {
    "InputError": "planner.errors",
    "Job": "planner.job.model",
    "Problem": "planner.errors",
    "load_job": "planner.job.load",
    "make_plan": "planner.plan",
}

__all__ = ["InputError", "Job", "Problem", "load_job", "make_plan"]
__version__ = "0.1.0"


def __getattr__(name: str) -> Any:
    """Import a public name from its home on first use (PEP 562)."""
    if name in _HOMES:
        return getattr(import_module(_HOMES[name]), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
