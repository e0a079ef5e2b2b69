"""What kinds of files can be audited, and how each is told from the others.

A new kind is a line in `KINDS`: the first one that knows a file audits it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

from planner.audit.document import named_as
from planner.errors import input_error
from planner.handover.audits import PLAIN, audit_job_file, audit_profile, profile_findings
from planner.handover.fix import fixed_content
from planner.handover.said import own_of_profile, said_by_profile
from planner.handover.stated import overlaid
from planner.progress import silent
from planner.settings.load import load_settings

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from pathlib import Path

    from planner.audit.compare import Said, Value
    from planner.audit.model import AuditedFile, Finding
    from planner.errors import InputError
    from planner.handover.audits import Asked
    from planner.handover.fix import Fixed
    from planner.progress import Progress

HEAD_BYTES = 1 << 16
"""As much of a file is looked at to tell its kind."""

_OURS = re.compile(rb"""schema["']?\s*:\s*["']?platewright/(?P<form>[a-z]+)/""")
_PARTS = re.compile(rb"""^["']?parts["']?\s*:""", re.MULTILINE)


class Audit(Protocol):
    """Audit one file of a kind."""

    def __call__(self, path: Path, asked: Asked, progress: Progress, /) -> AuditedFile:
        """Return the file with what was read and found; raises InputError."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """A kind of file: its name for messages, how to know one by its first bytes, its audit.

    What holds settings can also be compared and corrected: `says` gives all settings of a
    file, `own` those that stand in its content itself, and `judge` returns a function that
    holds the file against its rules with some settings changed.
    """

    name: str
    knows: Callable[[Path, bytes], bool]
    audit: Audit
    says: Callable[[Path], Said] | None = None
    own: Callable[[bytes, Path], Said] | None = None
    judge: Callable[[Path, Asked], Callable[[Mapping[str, Value]], tuple[Finding, ...]]] | None = (
        None
    )


def _is_job(path: Path, head: bytes) -> bool:
    form = _form(head)
    return form == "job" or (form is None and _is_yaml(path) and bool(_PARTS.search(head)))


def _is_profile(_path: Path, head: bytes) -> bool:
    return _form(head) == "settings"


def _is_yaml(path: Path) -> bool:
    return path.suffix.lower() in (".yaml", ".yml")


def _form(head: bytes) -> str | None:
    """Return which of our own forms a file says it has ("job", "settings"), or None."""
    said = _OURS.search(head)
    return None if said is None else said["form"].decode()


def _judge_profile(
    path: Path, asked: Asked
) -> Callable[[Mapping[str, Value]], tuple[Finding, ...]]:
    settings = named_as(path, load_settings(str(path.resolve())))

    def judge(changes: Mapping[str, Value]) -> tuple[Finding, ...]:
        changed = overlaid(settings, changes, {}, name=settings.name)
        return profile_findings(path, changed, asked)

    return judge


KINDS: tuple[Kind, ...] = (
    Kind(name="job", knows=_is_job, audit=audit_job_file),
    Kind(
        name="settings profile",
        knows=_is_profile,
        audit=audit_profile,
        says=said_by_profile,
        own=own_of_profile,
        judge=_judge_profile,
    ),
)

_PROFILE = KINDS[1]
"""What a file is read as that nothing knows: its reader says what is wrong."""


def kind_of(path: Path) -> Kind | None:
    """Return the kind of a file, or None where it is none that can be audited.

    Another form of ours (a printer, a filament) is none; what cannot be opened is none
    either, and its reader says why.
    """
    head = head_of(path)
    form = _form(head)
    if form is not None and form not in ("job", "settings"):
        return None
    return next((kind for kind in KINDS if kind.knows(path, head)), None)


def kind_name(path: Path) -> str:
    """Return the name of a file's kind, or "" where it has none."""
    kind = kind_of(path)
    return "" if kind is None else kind.name


def head_of(path: Path) -> bytes:
    """Return the first bytes of a file; none of what cannot be opened."""
    try:
        if not path.is_file():  # a pipe would wait for ever
            return b""
        with path.open("rb") as stream:
            return stream.read(HEAD_BYTES)
    except (OSError, ValueError):
        return b""


def audit_file(path: Path, asked: Asked = PLAIN, *, progress: Progress = silent) -> AuditedFile:
    """Audit a file of whatever kind; raises InputError for one that is of none.

    What nothing knows is read as a settings profile of ours, whose reader says what is wrong.
    """
    kind = kind_of(path)
    return (kind or _PROFILE).audit(path, asked, progress)


def said_by(path: Path) -> Said:
    """Return all settings that a file says; raises InputError for one that says none."""
    kind = kind_of(path) or _PROFILE
    if kind.says is None:
        raise _no_settings(path, kind)
    return kind.says(path)


def fixed(path: Path, asked: Asked = PLAIN) -> Fixed:
    """Return the corrected content of a settings file; the file itself is left alone.

    Raises InputError for a file that is not of one kind of settings, or cannot be read.
    """
    kind = kind_of(path) or _PROFILE
    if kind.own is None or kind.judge is None:
        raise _no_settings(path, kind)
    judge, own = kind.judge(path, asked), kind.own
    content = path.read_bytes()
    return fixed_content(content, file=str(path), audit=judge, read=lambda each: own(each, path))


def _no_settings(path: Path, kind: Kind) -> InputError:
    return input_error(
        path,
        found=f"a {kind.name} file",
        expected="a settings file",
        remedy="name the settings themselves",
    )
