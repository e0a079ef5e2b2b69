"""A corrected copy of a settings file: the values at fault replaced, all else byte for byte."""

from __future__ import annotations

from codecs import BOM_UTF16_BE, BOM_UTF16_LE, BOM_UTF32_BE, BOM_UTF32_LE
from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner.audit.order import in_order
from planner.errors import input_error
from planner.handover.rewrite import rewritten

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from planner.audit.compare import Said, Value
    from planner.audit.model import Finding

CHANGES_MAX = 100
"""Rules that contradict each other must not go on for ever; no file has so many settings."""

FACTS = ("material", "nozzle_mm")
"""What is screwed on or threaded in does not change with a file: left to a person."""

_CODECS = (
    (BOM_UTF32_LE, "utf-32-le"),
    (BOM_UTF32_BE, "utf-32-be"),
    (BOM_UTF16_LE, "utf-16-le"),
    (BOM_UTF16_BE, "utf-16-be"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """A value that was replaced, and the rule that asked for it."""

    key: str
    line: int
    before: Value
    after: Value
    rule: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Left:
    """A finding that stands, and why it could not be put right in the file."""

    finding: Finding
    because: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Fixed:
    """The corrected content, what was changed in it and what is left to a person."""

    content: bytes
    done: tuple[Done, ...]
    left: tuple[Left, ...]


def fixed_content(
    content: bytes,
    *,
    file: str,
    audit: Callable[[Mapping[str, Value]], tuple[Finding, ...]],
    read: Callable[[bytes], Said],
) -> Fixed:
    """Return the content with every stop and warning put right that one value can end.

    `audit` holds the file against its rules with some settings changed (key -> value);
    `read` says what stands in such content itself. Notes change nothing. Raises InputError
    for content that is not text.
    """
    text, codec = _decoded(content, file)
    said = read(content)
    changed: dict[str, Value] = {}
    done: list[Done] = []
    stuck: dict[tuple[str, Value], str] = {}
    tried: set[tuple[str, Value]] = set()
    findings = audit(changed)
    while len(done) < CHANGES_MAX:
        finding = next((f for f in findings if _open(f, stuck, tried)), None)
        if finding is None or finding.change is None:
            break
        key, value = finding.change.key, finding.change.value
        tried.add((key, value))
        new = None
        if key in said.lines and key not in FACTS:
            new = rewritten(text, key, value, said=said, read=lambda each: read(each.encode(codec)))
        if new is None:
            stuck[key, value] = _why_stuck(key, said)
            continue
        before, line = said.values[key], said.lines[key]
        text, said = new, read(new.encode(codec))
        changed[key] = said.values[key]
        done.append(Done(key=key, line=line, before=before, after=value, rule=finding.rule))
        findings = audit(changed)
    left = tuple(_left(f, stuck) for f in in_order(findings) if _matters(f))
    return Fixed(content=text.encode(codec), done=tuple(done), left=left)


def _open(
    finding: Finding, stuck: Mapping[tuple[str, Value], str], tried: set[tuple[str, Value]]
) -> bool:
    """Tell whether a finding can still be put right: it names a value that was not tried."""
    if finding.change is None or not _matters(finding):
        return False
    asked = (finding.change.key, finding.change.value)
    return asked not in stuck and asked not in tried


def _matters(finding: Finding) -> bool:
    return str(finding.level) != "note"


def _why_stuck(key: str, said: Said) -> str:
    if key in FACTS:
        return f"{key} is a fact of the machine, not only of the file"
    if key not in said.lines:
        return f"{key} does not stand in the file"
    return f"the value of {key} could not be replaced by itself in line {said.lines[key]}"


def _left(finding: Finding, stuck: Mapping[tuple[str, Value], str]) -> Left:
    if finding.change is None:
        return Left(finding=finding, because="no single value of the file ends it")
    asked = (finding.change.key, finding.change.value)
    other = "another rule wants another value"
    return Left(finding=finding, because=stuck.get(asked, other))


def _decoded(content: bytes, file: str) -> tuple[str, str]:
    """Return the text and a codec that gives the same bytes back; a byte order mark stays."""
    marked = next((codec for mark, codec in _CODECS if content.startswith(mark)), None)
    for codec in (marked or "utf-8", "latin-1"):
        try:
            return content.decode(codec), codec
        except UnicodeDecodeError:
            continue
    raise input_error(
        file,
        found="bytes that are no text",
        expected="a settings file as text",
        remedy="check that it is the right file",
    )
