"""What kinds of files can be audited, and how each is told from the others.

A new kind is a line in `KINDS`: the first one that knows a file audits it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

from planner.errors import input_error
from planner.handover.audits import PLAIN, audit_job_file, audit_profile
from planner.handover.estimates import TOOLPATH_ENDINGS
from planner.handover.fix import fixed_content
from planner.handover.foreign import (
    audit_foreign,
    is_settings,
    judge_foreign,
    own_of_foreign,
    said_by_foreign,
)
from planner.handover.said import judge_profile, own_of_profile, said_by_profile
from planner.handover.toolpaths import audit_toolpath
from planner.progress import silent
from planner.settings.reader.source import is_toolpath

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from pathlib import Path

    from planner.audit.compare import Said, Value
    from planner.audit.model import AuditedFile, Finding
    from planner.errors import InputError
    from planner.handover.audits import Asked
    from planner.handover.fix import Fixed
    from planner.progress import Progress

    Judge = Callable[[Mapping[str, Value]], tuple[Finding, ...]]


HEAD_BYTES = 1 << 16
"""As much of a file is looked at to tell its kind."""

_OURS = re.compile(rb"""schema["']?\s*:\s*["']?platewright/(?P<form>[a-z]+)/""")
_PARTS = re.compile(rb"""^["']?parts["']?\s*:""", re.MULTILINE)


class Audit(Protocol):
    """Audit one file of a kind."""

    def __call__(self, path: Path, asked: Asked, progress: Progress, /) -> AuditedFile:
        """Return the file with what was read and found; raises InputError."""


def _anywhere(_path: Path) -> bool:
    return True


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """A kind of file: its name for messages, how to know one by its first bytes, its audit.

    What holds settings can also be compared and corrected: `says` gives all settings of a
    file, `own` those that stand in its content itself, and `judge` returns a function that
    holds the file against its rules with some settings changed. `among` tells whether a file
    that nobody named, but which lies in a folder, is meant.
    """

    name: str
    knows: Callable[[Path, bytes], bool]
    audit: Audit
    says: Callable[[Path, Asked], Said] | None = None
    own: Callable[[bytes, Path, Asked], Said] | None = None
    judge: Callable[[Path, Asked], Judge] | None = None
    among: Callable[[Path], bool] = _anywhere


def _is_job(path: Path, head: bytes) -> bool:
    form = _form(head)
    return form == "job" or (form is None and _is_yaml(path) and bool(_PARTS.search(head)))


def _is_profile(_path: Path, head: bytes) -> bool:
    return _form(head) == "settings"


def _is_toolpath(path: Path, _head: bytes) -> bool:
    return path.suffix.lower() in TOOLPATH_ENDINGS or is_toolpath(path)


def _is_yaml(path: Path) -> bool:
    return path.suffix.lower() in (".yaml", ".yml")


def _is_text(path: Path, head: bytes) -> bool:
    """Tell whether a file can be settings of some dialect; zeros are UTF-16 or nothing."""
    marked = head.startswith((b"\xff\xfe", b"\xfe\xff"))
    return bool(head) and (marked or b"\0" not in head) and not is_toolpath(path)


def _form(head: bytes) -> str | None:
    """Return which of our own forms a file says it has ("job", "settings"), or None."""
    said = _OURS.search(head)
    return None if said is None else said["form"].decode()


KINDS: tuple[Kind, ...] = (
    Kind(name="job", knows=_is_job, audit=audit_job_file),
    Kind(
        name="settings profile",
        knows=_is_profile,
        audit=audit_profile,
        says=said_by_profile,
        own=own_of_profile,
        judge=judge_profile,
    ),
    Kind(name="toolpath", knows=_is_toolpath, audit=audit_toolpath, says=said_by_foreign),
    Kind(
        name="settings",
        knows=_is_text,
        audit=audit_foreign,
        says=said_by_foreign,
        own=own_of_foreign,
        judge=judge_foreign,
        among=is_settings,
    ),
)

_PROFILE, _FOREIGN = KINDS[1], KINDS[-1]


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

    What nothing knows is left to a reader of settings, which says what is wrong.
    """
    kind = kind_of(path) or _fallback(path)
    return kind.audit(path, asked, progress)


def is_meant(path: Path) -> bool:
    """Tell whether a file that nobody named, but which lies in a folder, is to be audited."""
    kind = kind_of(path)
    return kind is not None and kind.among(path)


def said_by(path: Path, asked: Asked = PLAIN) -> Said:
    """Return all settings that a file says; raises InputError for one that says none."""
    kind = kind_of(path) or _fallback(path)
    if kind.says is None:
        raise _no_settings(path, kind)
    return kind.says(path, asked)


def fixed(path: Path, asked: Asked = PLAIN) -> Fixed:
    """Return the corrected content of a settings file; the file itself is left alone.

    Raises InputError for a file that is not of one kind of settings, or cannot be read.
    """
    kind = kind_of(path) or _fallback(path)
    if kind.own is None or kind.judge is None:
        raise _no_settings(path, kind)
    judge, own = kind.judge(path, asked), kind.own
    content = path.read_bytes()
    return fixed_content(
        content, file=str(path), audit=judge, read=lambda each: own(each, path, asked)
    )


def _fallback(path: Path) -> Kind:
    """Return the kind whose reader refuses a file best: another form of ours, or whatever."""
    return _FOREIGN if _form(head_of(path)) is None else _PROFILE


def _no_settings(path: Path, kind: Kind) -> InputError:
    return input_error(
        path,
        found=f"a {kind.name} file",
        expected="a settings file",
        remedy="name the settings themselves",
    )
