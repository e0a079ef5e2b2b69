"""Triangles of a 3MF file (core specification 1.4): build items, components, unit.

Read with an event parser that refuses document types and entities, so neither outside
files nor endless expansion can be named.
"""

from __future__ import annotations

import io
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypeAlias, TypeVar
from xml.sax import SAXException
from xml.sax.handler import ContentHandler, feature_namespaces

import numpy as np

from planner.errors import InputError, input_error
from planner.solid.archive import unpack
from planner.solid.loose import Loose
from planner.solid.model import Repair
from planner.solid.units import short_unit

if TYPE_CHECKING:
    from collections.abc import Mapping
    from xml.sax.xmlreader import AttributesNSImpl

    from planner.solid.model import Floats, Indices

CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
PRODUCTION = "http://schemas.microsoft.com/3dmanufacturing/production/2015/06"
START_PART = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"

MOST_DEPTH = 20
MOST_INSTANCES = 10_000
MOST_TRIANGLES = 2_000_000
"""Limits to components of components, which multiply."""

SHAPES = {"model", "surface"}
"""Object types that are the part; the others are support or the writer's own (3MF 4.1)."""


_Reference: TypeAlias = tuple[str, str, "str | None"]
"""Model part, object id, transform."""

_Handler = TypeVar("_Handler", bound=ContentHandler)


@dataclass(slots=True)
class _Object:
    """An object while it is read: a mesh, or references to others."""

    kind: str
    numbers: list[str] = field(default_factory=list)
    corners: list[str] = field(default_factory=list)
    components: list[_Reference] = field(default_factory=list)


class _Relations(ContentHandler):
    """Find the target of the relationship that names the start part."""

    def __init__(self) -> None:
        super().__init__()
        self.start: str | None = None

    def startElementNS(  # noqa: N802  the parser calls it so
        self,
        name: tuple[str | None, str],
        qname: str | None,  # noqa: ARG002  part of the parser's protocol
        attrs: AttributesNSImpl,
    ) -> None:
        """Remember the start part."""
        if name[1] == "Relationship" and attrs.get((None, "Type")) == START_PART:
            self.start = attrs[(None, "Target")].lstrip("/")


class _Model(ContentHandler):
    """Collect the objects and build items of one model part."""

    def __init__(self, part: str) -> None:
        super().__init__()
        self.part = part
        self.unit = "millimeter"
        self.objects: dict[str, _Object] = {}
        self.items: list[_Reference] = []
        self.current = _Object(kind="model")

    def startElementNS(  # noqa: N802  the parser calls it so
        self,
        name: tuple[str | None, str],
        qname: str | None,  # noqa: ARG002  part of the parser's protocol
        attrs: AttributesNSImpl,
    ) -> None:
        """Take what the element says; KeyError if an attribute that must be is missing."""
        if name[0] != CORE:
            return
        plain = {key[1]: value for key, value in attrs.items() if key[0] is None}
        match name[1]:
            case "vertex":
                self.current.numbers += (plain["x"], plain["y"], plain["z"])
            case "triangle":
                self.current.corners += (plain["v1"], plain["v2"], plain["v3"])
            case "component":
                self.current.components.append(self._reference(plain, attrs))
            case "object":
                self.current = _Object(kind=plain.get("type", "model"))
                self.objects[plain["id"]] = self.current
            case "item":
                self.items.append(self._reference(plain, attrs))
            case "model":
                self.unit = plain.get("unit", self.unit)

    def _reference(self, plain: dict[str, str], attrs: AttributesNSImpl) -> _Reference:
        path = attrs.get((PRODUCTION, "path"), self.part)
        return path.lstrip("/"), plain["objectid"], plain.get("transform")


def read_3mf(data: bytes, *, file: object) -> Loose:
    """Return all build items of a 3MF as one mesh, transforms applied, in the file's unit.

    Raises InputError for a damaged or suspicious archive, XML with a document type,
    numbers that are none, and references to what is not there.
    """
    parts = unpack(data, (".model", ".rels"), file=file)
    root = _root(parts, file)
    models = {
        name: _parse(text, _Model(name), file=file)
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
    """Run the event parser over one part; document types and entities are refused."""
    from defusedxml.common import DefusedXmlException  # noqa: PLC0415  XML only where needed
    from defusedxml.sax import make_parser  # noqa: PLC0415

    parser = make_parser()
    parser.forbid_dtd = True
    parser.setFeature(feature_namespaces, True)  # noqa: FBT003  the parser's own signature
    parser.setContentHandler(handler)
    try:
        parser.parse(io.BytesIO(text))
    except DefusedXmlException:
        raise _wrong(
            file, "a document type or entity in its XML", "plain XML, as 3MF demands"
        ) from None
    except KeyError as error:
        raise _wrong(file, f"an element without {error.args[0]}", "what 3MF demands") from None
    except (SAXException, ValueError) as error:
        raise _wrong(file, f"XML that cannot be read ({error})", "well-formed XML") from None
    return handler


def _root(parts: Mapping[str, bytes], file: object) -> str:
    """Return the name of the part to start from: the one that the package's relations name."""
    names = {name.lower(): name for name in parts if name.lower().endswith(".model")}
    relations = _Relations()
    if "_rels/.rels" in parts:
        _parse(parts["_rels/.rels"], relations, file=file)
    for target in (relations.start, "3d/3dmodel.model", *names):
        if target is not None and target.lower() in names:
            return names[target.lower()]
    raise _wrong(file, "no model part in the archive", "a 3MF with 3D/3dmodel.model")


def _placed(
    models: Mapping[str, _Model], items: list[_Reference], file: object
) -> list[tuple[Floats, Indices]]:
    """Follow references from the build down to meshes; return each mesh where it belongs."""
    meshes: dict[tuple[str, str], tuple[Floats, Indices]] = {}
    placed: list[tuple[Floats, Indices]] = []
    total = 0
    waiting = [(item, np.eye(4), 0) for item in reversed(items)]
    while waiting:
        reference, outer, depth = waiting.pop()
        key = reference[:2]
        thing = _find(models, key, file)
        matrix = _matrix(reference[2], file) @ outer
        waiting += [(inner, matrix, depth + 1) for inner in reversed(thing.components)]
        if thing.corners and thing.kind in SHAPES:
            if key not in meshes:
                meshes[key] = _mesh(thing, key[1], file)
            placed.append(_moved(*meshes[key], matrix))
            total += len(meshes[key][1])
        if depth > MOST_DEPTH or len(waiting) > MOST_INSTANCES or total > MOST_TRIANGLES:
            raise _wrong(
                file,
                "components nested without end, or millions of triangles",
                f"at most {MOST_TRIANGLES} triangles, {MOST_DEPTH} levels of components",
            )
    return placed


def _find(models: Mapping[str, _Model], key: tuple[str, str], file: object) -> _Object:
    """Return the object of a reference; InputError if there is none."""
    model = models.get(key[0])
    if model is None or key[1] not in model.objects:
        raise _wrong(file, f"a reference to object {key[1]!r}", "an object that is in the file")
    return model.objects[key[1]]


def _mesh(thing: _Object, number: str, file: object) -> tuple[Floats, Indices]:
    """Return vertices and triangles of an object, its texts turned into numbers."""
    try:
        vertices = np.array(thing.numbers, dtype=np.str_).astype(np.float64).reshape(-1, 3)
        triangles = np.array(thing.corners, dtype=np.str_).astype(np.int64).reshape(-1, 3)
    except (ValueError, OverflowError) as error:
        raise _wrong(file, f"object {number}: {error}", "numbers") from None
    if triangles.min() < 0 or triangles.max() >= len(vertices):
        raise _wrong(
            file,
            f"object {number}: a triangle that uses vertex {triangles.max()}",
            f"one of its {len(vertices)} vertices",
        )
    return vertices, triangles


def _matrix(transform: str | None, file: object) -> Floats:
    """Return the (4, 4) matrix of a transform, to be applied to row vectors (3MF 3.3).

    >>> _matrix("1 0 0 0 1 0 0 0 1 7 8 9", "x.3mf")[3]
    array([7., 8., 9., 1.])
    """
    matrix = np.eye(4)
    if transform is not None:
        try:
            matrix[:, :3] = np.array([float(word) for word in transform.split()]).reshape(4, 3)
        except ValueError:
            raise _wrong(file, f"the transform {transform[:60]!r}", "twelve numbers") from None
    if not (np.isfinite(matrix).all() and abs(np.linalg.det(matrix)) > 1e-12):
        raise _wrong(file, f"the transform {transform!r}", "one that keeps the volume above 0")
    return matrix


def _moved(vertices: Floats, triangles: Indices, matrix: Floats) -> tuple[Floats, Indices]:
    """Apply a transform; a mirroring one turns the triangles so that they still face out."""
    mirrored = np.linalg.det(matrix) < 0
    return vertices @ matrix[:3, :3] + matrix[3, :3], triangles[:, ::-1] if mirrored else triangles


def _remarks(models: Mapping[str, _Model], root: str) -> tuple[Repair, ...]:
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
