"""XML as entries: elements, attributes and records of both; entities are refused."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING
from xml.sax import SAXException
from xml.sax.handler import ContentHandler

from defusedxml import DefusedXmlException
from defusedxml.sax import parseString

from planner.errors import input_error
from planner.settings.reader.model import Entry

if TYPE_CHECKING:
    from xml.sax.xmlreader import AttributesImpl, Locator

    from planner.errors import InputError
    from planner.settings.reader.record import Record

DEPTH_MAX = 60
ELEMENTS_MAX = 200_000


@dataclass(slots=True)
class _Open:
    """An element that has begun and not ended."""

    tag: str
    line: int
    attributes: dict[str, str]
    said: list[Entry] = field(default_factory=list)
    text: list[str] = field(default_factory=list)
    parent: bool = False


class _Handler(ContentHandler):
    """Gathers entries; whatever is too large is refused on the way."""

    def __init__(self, file: str, record: Record) -> None:
        super().__init__()
        self.file, self.record = file, record
        self.stack: list[_Open] = []
        self.count = 0
        self.entries: list[Entry] = []
        self.place: Locator | None = None

    def setDocumentLocator(self, locator: Locator) -> None:  # noqa: N802 - named by the standard
        """Keep the one that knows the line."""
        self.place = locator

    def startElement(self, name: str, attrs: AttributesImpl) -> None:  # noqa: N802
        """Open an element."""
        self.count += 1
        if len(self.stack) >= DEPTH_MAX or self.count > ELEMENTS_MAX:
            deep = len(self.stack) >= DEPTH_MAX
            found = f"nesting deeper than {DEPTH_MAX} levels" if deep else "too many elements"
            raise _refused(self.file, found, self._line())
        if self.stack:
            self.stack[-1].parent = True
        plain = {_local(key): str(value) for key, value in attrs.items()}
        self.stack.append(_Open(tag=_local(name), line=self._line(), attributes=plain))

    def characters(self, content: str) -> None:
        """Take text of the element."""
        if self.stack:
            self.stack[-1].text.append(content)

    def endElement(self, _name: str) -> None:  # noqa: N802
        """Close an element and say what it says to the one around it."""
        done = self.stack.pop()
        path = tuple(_title(each, self.record) for each in self.stack)
        said = self._said(done, path)
        if self.stack:
            self.stack[-1].said.extend(said)
        else:
            self.entries.extend(said)

    def _said(self, done: _Open, path: tuple[str, ...]) -> list[Entry]:
        """Return the entries of an element: of itself, of its attributes, of its children."""
        record, attributes = self.record, done.attributes
        unit = attributes.get(record.find(attributes, record.units) or "", "")
        children = {
            entry.key: entry for entry in done.said if entry.path[len(path) :] == (done.tag,)
        }
        named = record.of_mapping({key: each.values[0] for key, each in children.items()})
        if named is not None and len(children) == len(done.said):
            line = children[named.value_key].line
            return [
                Entry(path=path, key=named.name, values=(named.value,), unit=named.unit, line=line)
            ]
        name = attributes.get(record.find(attributes, record.names) or "", "")
        value_key = record.find(attributes, record.values)
        text = "".join(done.text).strip()
        key = name or done.tag
        if value_key is not None:
            text = attributes[value_key]
        if (text or not (done.parent or attributes)) and not (done.parent and value_key is None):
            itself = [Entry(path=path, key=key, values=(text,), unit=unit, line=done.line)]
        else:
            itself = []
        inside = (*path, _title(done, record))
        known = record.names | record.values | record.units
        rest = [
            Entry(path=inside, key=each, values=(attributes[each],), line=done.line)
            for each in attributes
            if record.find([each], known) is None
        ]
        return [*itself, *rest, *done.said]

    def _line(self) -> int:
        return (self.place.getLineNumber() or 1) if self.place is not None else 1


def entries(text: str, file: str, record: Record) -> list[Entry]:
    """Return the entries of XML; raises InputError, also where it defines anything."""
    handler = _Handler(file, record)
    try:
        parseString(_without_declaration(text).encode(), handler, forbid_dtd=True)
    except DefusedXmlException as error:
        raise _refused(file, "a document type or entities", None, "remove the DOCTYPE") from error
    except SAXException as error:
        line = getattr(error, "getLineNumber", lambda: None)()
        why = error.getMessage()
        raise _refused(
            file, f"what XML cannot read ({why})", line, "mend the tags there"
        ) from error
    return handler.entries


def _without_declaration(text: str) -> str:
    """Blank the XML declaration: the text is decoded already, whatever encoding it names."""
    start = text.find("<?xml")
    end = text.find("?>", start) + 2
    if 0 <= start < 5 and end > 1:
        return (
            " " * end + text[end:]
            if "\n" not in text[:end]
            else "\n" * text[:end].count("\n") + text[end:]
        )
    return text


def _title(element: _Open, record: Record) -> str:
    """Return what an element is called on a path: its tag, and its name where it has one."""
    name = element.attributes.get(record.find(element.attributes, record.names) or "", "")
    return f"{element.tag} {name}" if name else element.tag


def _local(name: str) -> str:
    return name.rpartition(":")[2]


def _refused(
    file: str, found: str, line: int | None, remedy: str = "check that it is the right file"
) -> InputError:
    return input_error(
        file, line=line, found=found, expected="XML of plain elements", remedy=remedy
    )
