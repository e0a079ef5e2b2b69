"""Settings files of any dialect: read by the words of the trade, audited, compared, corrected."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from planner.audit.compare import Said
from planner.audit.document import at_line
from planner.audit.model import Finding
from planner.audit.settings import audit_stated
from planner.errors import InputError
from planner.handover.audits import filament_of, findings_for_part, job_and_part
from planner.handover.stated import audit_stated_file, overlaid
from planner.settings.model import Level
from planner.settings.reader.lexicon import load_lexicon
from planner.settings.reader.read import read_foreign, read_text_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping
    from pathlib import Path

    from planner.audit.compare import Value
    from planner.audit.model import AuditedFile
    from planner.handover.audits import Asked
    from planner.progress import Progress
    from planner.settings.reader.model import Reading, Unclear

SETTINGS_ENDINGS = (".cfg", ".conf", ".ini", ".properties", ".toml")
"""Such a file in a folder is taken for settings, and refused where it cannot be read."""

ANY_ENDINGS = (".csv", ".json", ".txt", ".xml", ".yaml", ".yml")
"""Such a file may hold anything: in a folder it is settings where `ENOUGH` of it is understood."""

ENOUGH = 3
"""So many keys understood make settings of a file of any content (our own choice)."""


def audit_foreign(path: Path, asked: Asked, progress: Progress) -> AuditedFile:
    """Audit a settings file of any dialect, by itself or for a part of a job."""
    reading = read_foreign(path, load_lexicon(asked.lexicon, asked.words))
    said = _said(path, reading)
    return audit_stated_file(
        path,
        said.values,
        lines=said.lines,
        names=said.names,
        not_understood=dict.fromkeys(entry.place for entry in reading.not_understood),
        extra=_unclear(path, reading),
        notes={key: each.note for key, each in reading.read.items() if each.note},
        asked=asked,
        progress=progress,
    )


def said_by_foreign(path: Path, asked: Asked) -> Said:
    """Return what a settings file of any dialect says; raises InputError."""
    return _said(path, read_foreign(path, load_lexicon(asked.lexicon, asked.words)))


def own_of_foreign(content: bytes, path: Path, asked: Asked) -> Said:
    """Return what such content says; raises InputError."""
    lexicon = load_lexicon(asked.lexicon, asked.words)
    return _said(path, read_text_of(content, str(path), lexicon))


def judge_foreign(path: Path, asked: Asked) -> Callable[[Mapping[str, Value]], tuple[Finding, ...]]:
    """Return a function that holds the file against its rules with some settings changed."""
    reading = read_foreign(path, load_lexicon(asked.lexicon, asked.words))
    said, unclear = _said(path, reading), tuple(_unclear(path, reading))
    if asked.job is not None:
        _, part = job_and_part(asked)
        whole = overlaid(part.settings, said.values, said.origin, name=str(path))
        return lambda changes: (
            *findings_for_part(path, overlaid(whole, changes, {}, name=str(path)), asked),
            *unclear,
        )
    rules = asked.rules()

    def judge(changes: Mapping[str, Value]) -> tuple[Finding, ...]:
        values = {**said.values, **changes}
        filament = filament_of(str(values.get("material", "")))
        findings, _ = audit_stated(
            values, rules, filament, where=str(path), origin=said.origin, names=said.names
        )
        return (*findings, *unclear)

    return judge


def is_settings(path: Path) -> bool:
    """Tell whether a file found in a folder is meant as settings."""
    ending = path.suffix.lower()
    if ending in SETTINGS_ENDINGS:
        return True
    if ending not in ANY_ENDINGS:
        return False
    try:
        return len(read_foreign(path).read) >= ENOUGH
    except InputError:
        return False


def _said(path: Path, reading: Reading) -> Said:
    lines = {key: each.entry.line for key, each in reading.read.items()}
    unread = [*reading.not_understood, *(each.entry for each in _all_unclear(reading))]
    written: dict[str, str] = {}
    for entry in sorted(unread, key=lambda entry: (entry.line, entry.place)):
        name = entry.place if entry.place not in written else f"{entry.place} ({entry.line})"
        written[name] = entry.text
    return Said(
        file=str(path),
        values={key: each.value for key, each in reading.read.items()},
        origin={key: at_line(path, line) for key, line in lines.items()},
        lines=lines,
        names={key: each.entry.key for key, each in reading.read.items()},
        as_written=written,
    )


def _all_unclear(reading: Reading) -> tuple[Unclear, ...]:
    return (*reading.ambiguous, *reading.suspect, *reading.suggested)


def _unclear(path: Path, reading: Reading) -> Iterator[Finding]:
    """Yield what may be a setting and is not read, and a doubt about the letters: never guessed."""
    if reading.encoding == "latin-1":
        yield _taken_as_latin(path)
    told: dict[str, Any] = {
        "ambiguous": (reading.ambiguous, Level.NOTE),
        "suspect": (reading.suspect, Level.WARN),
        "unknown word": (reading.suggested, Level.NOTE),
    }
    for what, (entries, level) in told.items():
        for each in entries:
            yield _not_read(path, each, what, level)


def _taken_as_latin(path: Path) -> Finding:
    return Finding(
        rule="encoding",
        level=Level.NOTE,
        part="",
        where=str(path),
        found="bytes that are not UTF-8, taken as Latin-1",
        expected="text in UTF-8",
        why="accented letters and units such as µm may be others than those meant",
        remedy="save the file as UTF-8",
        source="the file itself",
    )


def _not_read(path: Path, unclear: Unclear, what: str, level: Level) -> Finding:
    entry, keys = unclear.entry, " or ".join(unclear.keys)
    found = f"{what}: {entry.place} = {entry.text}"
    meant = f"what can only be {keys or 'one setting'}"
    remedy = f"say what '{entry.key}' means with --word or --lexicon"
    if what == "suspect":
        meant, remedy = f"a value that {keys} can have", f"correct the value, or {remedy}"
    elif len(unclear.keys) == 1:  # the doubt is in what is said of the key, not in which it is
        found, meant = f"{found}, {unclear.why}", f"one clear value of {keys}"
        remedy = f"say {keys} once and plainly, or {remedy}"
    elif what == "unknown word":
        found = f"{found}, {unclear.why}"
    return Finding(
        rule="not read",
        level=level,
        part="",
        where=at_line(path, entry.line),
        found=found,
        expected=meant,
        why=f"{unclear.why}; it was not read, and no rule was held against it",
        remedy=remedy,
        source="the words of the lexicon",
    )
