"""Loads put in the one form that the rest of the program knows."""

from __future__ import annotations

from planner.job.load_form import BoxForm, LoadForm, PlaneFace
from planner.job.model import Face, LoadCase, Plane


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
