"""The XML of a 3MF: objects, components and build items, as they stand in the file.

Read with an event parser that refuses document types and entities, so neither outside
files nor endless expansion can be named. Numbers are converted as they come, so that their
texts need no room.
"""

from __future__ import annotations

import io
from array import array
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypeAlias, TypeVar
from xml.sax import SAXException
from xml.sax.handler import ContentHandler, feature_namespaces

from planner.solid import limits
from planner.solid.words import MOST_LETTERS, clipped, number, whole

if TYPE_CHECKING:
    from xml.sax.xmlreader import AttributesNSImpl

CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
PRODUCTION = "http://schemas.microsoft.com/3dmanufacturing/production/2015/06"
START_PART = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"

MOST_VERTICES = 2_000_000
"""Per part: a closed mesh has about half as many vertices as triangles, and 3MF shares them."""

MOST_ELEMENTS = 6_000_000
"""Per part: the most triangles and vertices, and as many again of extensions (invented)."""

Reference: TypeAlias = tuple[str, str, "str | None"]
"""Model part, object id, transform."""

_Handler = TypeVar("_Handler", bound="Counted")


class Fault(Exception):  # noqa: N818  not an error of ours but of the file
    """What is wrong with a part, to be told with the name of the file."""

    def __init__(self, found: str, expected: str) -> None:
        self.found, self.expected = found, expected
        super().__init__(found)


@dataclass(slots=True)
class Thing:
    """An object while it is read: a mesh, or references to others."""

    kind: str
    number: str = ""
    numbers: array[float] = field(default_factory=lambda: array("d"))
    corners: array[int] = field(default_factory=lambda: array("q"))
    components: list[Reference] = field(default_factory=list)


class Counted(ContentHandler):
    """Refuse parts with too many elements, and elements without an attribute they need."""

    def __init__(self) -> None:
        super().__init__()
        self.elements = 0

    def startElementNS(  # noqa: N802  the parser calls it so
        self,
        name: tuple[str | None, str],
        qname: str | None,  # noqa: ARG002  part of the parser's protocol
        attrs: AttributesNSImpl,
    ) -> None:
        """Count and take an element."""
        self.elements += 1
        if self.elements > MOST_ELEMENTS:
            raise Fault("millions of elements", f"at most {MOST_ELEMENTS} in a part")
        try:
            self.take(name, attrs)
        except KeyError as error:
            raise Fault(
                f"a <{clipped(name[1])}> element without {error.args[0]}", "what 3MF demands"
            ) from None

    def take(self, name: tuple[str | None, str], attrs: AttributesNSImpl) -> None:
        """Take what the element says; KeyError if an attribute that must be is missing."""
        raise NotImplementedError


class Relations(Counted):
    """Find the target of the relationship that names the start part."""

    def __init__(self) -> None:
        super().__init__()
        self.start: str | None = None

    def take(self, name: tuple[str | None, str], attrs: AttributesNSImpl) -> None:
        """Remember the start part."""
        plain = _plain(attrs)
        if name[1] == "Relationship" and plain.get("Type") == START_PART:
            self.start = plain["Target"].lstrip("/")


class Model(Counted):
    """Collect the objects and build items of one model part."""

    def __init__(self, part: str) -> None:
        super().__init__()
        self.part = part
        self.unit = "millimeter"
        self.objects: dict[str, Thing] = {}
        self.items: list[Reference] = []
        self.current = Thing(kind="model")

    def take(self, name: tuple[str | None, str], attrs: AttributesNSImpl) -> None:
        """Take an element of the core specification."""
        if name[0] != CORE:
            return
        plain = _plain(attrs)
        match name[1]:
            case "vertex":
                self._vertex(plain)
            case "triangle":
                self._triangle(plain)
            case "component":
                self.current.components.append(self._reference(plain, attrs))
            case "object":
                self._object(plain)
            case "item":
                self.items.append(self._reference(plain, attrs))
            case "model":
                self.unit = plain.get("unit", self.unit)

    def _object(self, plain: dict[str, str]) -> None:
        if plain["id"] in self.objects:
            raise Fault(f"two objects {clipped(plain['id'])!r}", "a different id for each")
        self.current = Thing(kind=plain.get("type", "model"), number=clipped(plain["id"]))
        self.objects[plain["id"]] = self.current

    def _vertex(self, plain: dict[str, str]) -> None:
        x, y, z = plain["x"], plain["y"], plain["z"]
        try:
            self.current.numbers.extend((number(x), number(y), number(z)))
        except ValueError:
            raise self._fault(
                f"a vertex at ({x[:60]}, {y[:60]}, {z[:60]})",
                f"three numbers of at most {MOST_LETTERS} letters",
            ) from None
        if len(self.current.numbers) > 3 * MOST_VERTICES:
            raise self._fault("millions of vertices", f"at most {MOST_VERTICES}")

    def _triangle(self, plain: dict[str, str]) -> None:
        for word in (plain["v1"], plain["v2"], plain["v3"]):
            try:
                corner = whole(word)
            except ValueError:
                raise self._fault(
                    f"a triangle with the corner {clipped(word)!r}", "the number of a vertex"
                ) from None
            if not 0 <= corner < MOST_VERTICES:
                raise self._fault(f"a triangle that uses vertex {corner}", "one of its vertices")
            self.current.corners.append(corner)
        if len(self.current.corners) > 3 * limits.MOST_TRIANGLES:
            raise self._fault("millions of triangles", f"at most {limits.MOST_TRIANGLES}")

    def _fault(self, found: str, expected: str) -> Fault:
        return Fault(f"object {self.current.number}: {clipped(found, 200)}", expected)

    def _reference(self, plain: dict[str, str], attrs: AttributesNSImpl) -> Reference:
        path = attrs.get((PRODUCTION, "path"), self.part)
        return path.lstrip("/"), plain["objectid"], plain.get("transform")


def _plain(attrs: AttributesNSImpl) -> dict[str, str]:
    """Return the attributes without a namespace."""
    return {key[1]: value for key, value in attrs.items() if key[0] is None}


def parse(text: bytes, handler: _Handler) -> _Handler:
    """Run the event parser over one part; Fault for document types, entities and bad XML."""
    from defusedxml.common import DefusedXmlException  # noqa: PLC0415  XML only where needed
    from defusedxml.sax import make_parser  # noqa: PLC0415

    parser = make_parser()
    parser.forbid_dtd = True
    parser.setFeature(feature_namespaces, True)  # noqa: FBT003  the parser's own signature
    parser.setContentHandler(handler)
    try:
        parser.parse(io.BytesIO(text))
    except DefusedXmlException:
        raise Fault("a document type or entity in its XML", "plain XML, as 3MF demands") from None
    except (SAXException, ValueError) as error:
        reason = clipped(str(error), 100)
        raise Fault(f"XML that cannot be read ({reason})", "well-formed XML") from None
    return handler
