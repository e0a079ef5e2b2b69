"""Triangles of a 3MF file (core specification 1.4): build items, components, unit."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

import numpy as np

from planner.errors import InputError, input_error
from planner.solid import limits
from planner.solid.archive import unpack
from planner.solid.loose import Loose
from planner.solid.model import Repair
from planner.solid.threemf_xml import MOST_VERTICES, Counted, Fault, Model, Relations, Thing, parse
from planner.solid.units import short_unit
from planner.solid.words import clipped, number

if TYPE_CHECKING:
    from collections.abc import Mapping

    from planner.solid.model import Floats, Indices
    from planner.solid.threemf_xml import Reference

_Handler = TypeVar("_Handler", bound=Counted)

MOST_DEPTH = 20
MOST_INSTANCES = 100_000
"""Limits to components of components, which multiply."""

MOST_TRANSFORM = 1000
"""Letters of a transform: twelve numbers of a double's length, and as much padding."""

MOST_SCALE, LEAST_TURN = 1e9, 1e-12
"""Largest number of a transform; volume it must keep, against its largest number cubed."""

SHAPES = {"model", "surface"}
"""Object types that are the part; the others are support or the writer's own (3MF 4.1)."""


def read_3mf(data: bytes, *, file: object) -> Loose:
    """Return all build items of a 3MF as one mesh, transforms applied, in the file's unit.

    Raises InputError for a damaged or suspicious archive, XML with a document type,
    numbers that are none, and references to what is not there.
    """
    parts = unpack(data, (".model", ".rels"), file=file)
    root = _root(parts, file)
    models = {
        name: _parse(text, Model(name), file=file)
        for name, text in parts.items()
        if name.lower().endswith(".model")
    }
    placed = _placed(models, models[root].items, file)
    if not placed:
        raise _wrong(file, "no build item with a mesh", "at least one object to print")
    starts = np.cumsum([0, *(len(corners) for corners, _ in placed)])
    return Loose(
        vertices=np.concatenate([corners for corners, _ in placed]),
        triangles=np.concatenate(
            [triangles + start for (_, triangles), start in zip(placed, starts, strict=False)]
        ),
        unit=short_unit(models[root].unit, file=file),
        remarks=_remarks(models, root),
    )


def _wrong(file: object, found: str, expected: str) -> InputError:
    return input_error(file, found=found, expected=expected, remedy="export the part again as 3MF")


def _parse(text: bytes, handler: _Handler, *, file: object) -> _Handler:
    try:
        return parse(text, handler)
    except Fault as fault:
        raise _wrong(file, fault.found, fault.expected) from None


def _root(parts: Mapping[str, bytes], file: object) -> str:
    """Return the name of the part to start from: the one that the package's relations name."""
    names = {name.lower(): name for name in parts if name.lower().endswith(".model")}
    relations = Relations()
    if "_rels/.rels" in parts:
        _parse(parts["_rels/.rels"], relations, file=file)
    for target in (relations.start, "3d/3dmodel.model", *names):
        if target is not None and target.lower() in names:
            return names[target.lower()]
    raise _wrong(file, "no model part in the archive", "a 3MF with 3D/3dmodel.model")


def _placed(
    models: Mapping[str, Model], items: list[Reference], file: object
) -> list[tuple[Floats, Indices]]:
    """Follow references from the build down to meshes; return each mesh where it belongs."""
    meshes: dict[tuple[str, str], tuple[Floats, Indices]] = {}
    placed: list[tuple[Floats, Indices]] = []
    visits = vertices = triangles = 0
    waiting = [(item, np.eye(4), 0) for item in reversed(items)]
    while waiting:
        reference, outer, depth = waiting.pop()
        key = reference[:2]
        thing = _find(models, key, file)
        matrix = _matrix(reference[2], file) @ outer
        waiting += [(inner, matrix, depth + 1) for inner in reversed(thing.components)]
        visits += 1
        if depth > MOST_DEPTH:
            raise _wrong(file, "components nested without end", f"at most {MOST_DEPTH} levels")
        if visits + len(waiting) > MOST_INSTANCES:
            raise _wrong(
                file, "components of components that multiply", f"at most {MOST_INSTANCES} in all"
            )
        if thing.corners and thing.kind in SHAPES:
            if key not in meshes:
                meshes[key] = _mesh(thing, file)
            vertices += len(meshes[key][0])
            triangles += len(meshes[key][1])
            if triangles > limits.MOST_TRIANGLES or vertices > MOST_VERTICES:
                raise _wrong(
                    file,
                    f"more than {limits.MOST_TRIANGLES} triangles or {MOST_VERTICES} vertices, "
                    "components counted",
                    "no more",
                )
            placed.append(_moved(*meshes[key], matrix))
    return placed


def _find(models: Mapping[str, Model], key: tuple[str, str], file: object) -> Thing:
    """Return the object of a reference; InputError if there is none."""
    model = models.get(key[0])
    if model is None or key[1] not in model.objects:
        raise _wrong(
            file, f"a reference to object '{clipped(key[1])}'", "an object that is in the file"
        )
    return model.objects[key[1]]


def _mesh(thing: Thing, file: object) -> tuple[Floats, Indices]:
    """Return vertices and triangles of an object."""
    vertices = np.array(thing.numbers, dtype=np.float64).reshape(-1, 3)
    triangles = np.array(thing.corners, dtype=np.int64).reshape(-1, 3)
    if triangles.max() >= len(vertices):
        raise _wrong(
            file,
            f"object {thing.number}: a triangle that uses vertex {triangles.max()}",
            f"one of its {len(vertices)} vertices, counted from 0",
        )
    return vertices, triangles


def _matrix(transform: str | None, file: object) -> Floats:
    """Return the (4, 4) matrix of a transform, to be applied to row vectors (3MF 3.3).

    >>> _matrix("1 0 0 0 1 0 0 0 1 7 8 9", "x.3mf")[3]
    array([7., 8., 9., 1.])
    """
    matrix = np.eye(4)
    if transform is None:
        return matrix
    found = f"the transform '{clipped(transform)}'"
    try:
        words = transform.split() if len(transform) <= MOST_TRANSFORM else []
        matrix[:, :3] = np.array([number(word) for word in words]).reshape(4, 3)
    except ValueError:
        raise _wrong(file, found, "twelve numbers") from None
    if not np.abs(matrix).max() <= MOST_SCALE:  # written so that NaN is refused too
        raise _wrong(file, found, f"finite numbers of at most {MOST_SCALE:g}")
    if not abs(_turn(matrix)) > LEAST_TURN:
        raise _wrong(file, found, "one that keeps the volume above 0")
    return matrix


def _turn(matrix: Floats) -> float:
    """Return the determinant of a matrix whose largest number is scaled to 1; 0 for none."""
    largest = float(np.abs(matrix[:3, :3]).max())
    return float(np.linalg.det(matrix[:3, :3] / largest)) if 0 < largest < np.inf else 0.0


def _moved(vertices: Floats, triangles: Indices, matrix: Floats) -> tuple[Floats, Indices]:
    """Apply a transform; a mirroring one turns the triangles so that they still face out.

    What overflows becomes infinite, and is refused with all coordinates that are no numbers.
    """
    with np.errstate(over="ignore", invalid="ignore"):
        moved = vertices @ matrix[:3, :3] + matrix[3, :3]
    return moved, triangles[:, ::-1] if _turn(matrix) < 0 else triangles


def _remarks(models: Mapping[str, Model], root: str) -> tuple[Repair, ...]:
    """Say what was read together and what was left out."""
    texts = []
    items = len(models[root].items)
    if items > 1:
        texts.append(f"{items} build items of the file are read as one part")
    others = sum(
        thing.kind not in SHAPES for model in models.values() for thing in model.objects.values()
    )
    if others:
        texts.append(f"{others} objects that are support or not to be printed were left out")
    return tuple(Repair(kind="3MF objects", text=text) for text in texts)
