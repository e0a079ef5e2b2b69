"""Loads put in the one form that the rest of the program knows."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.job.load_form import BoxForm, LoadForm, PlaneFace
from planner.job.model import Face, LoadCase, Plane, Screwed

if TYPE_CHECKING:
    from planner.job.wall_form import FixingsForm


def case_of(form: LoadForm, where: str) -> LoadCase:
    """Return the load case; `where` is the place in the file, for messages."""
    return LoadCase(
        force_n=form.force_n or (0.0, 0.0, 0.0),
        moment_nmm=form.moment_nmm or (0.0, 0.0, 0.0),
        on=face_of(form.on),
        held=face_of(form.held),
        sustained=form.sustained,
        down=form.down,
        warm_c=form.warm_c,
        where=where,
    )


def face_of(given: str | BoxForm | PlaneFace) -> Face:
    """Return the face that was named, boxed or put on a plane."""
    if isinstance(given, BoxForm):
        return Face(box_mm=given.box)
    if isinstance(given, PlaneFace):
        plane = Plane(point_mm=given.plane.point, normal=given.plane.normal)
        return Face(plane=plane, tolerance_mm=given.plane.tolerance_mm)
    return Face(axis=given)


def visible_of(given: tuple[str | BoxForm | PlaneFace, ...] | None) -> tuple[Face, ...]:
    """Return the faces in sight, none where nothing was said."""
    return tuple(face_of(face) for face in given or ())


def screwed(form: FixingsForm | None, where: str) -> Screwed | None:
    """Return the fixings; `where` is the place in the file, for messages."""
    if form is None:
        return None
    return Screwed(
        at_mm=form.at, wall=form.wall, rated_n=form.rated_n, factor=form.factor, where=where
    )
