"""Many files at once: which ones are meant, and the audit of each, side by side."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from glob import glob
from pathlib import Path
from typing import TYPE_CHECKING

from planner.audit.words import listed
from planner.document.files import missing_file
from planner.errors import InputError, input_error
from planner.handover.kinds import audit_file, is_meant, kind_name, said_by
from planner.handover.workers import in_turn
from planner.progress import silent

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from planner.audit.model import AuditedFile
    from planner.errors import Problem
    from planner.handover.audits import Asked
    from planner.handover.workers import Workers
    from planner.progress import Progress

FILES = "settings, jobs or toolpaths"
SHARED_BYTES = 2_000_000
"""Files this large together are worth starting other processes for (our own choice)."""
NAMED_MAX = 3
"""So many names stand in a remark; the others are counted."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """Files to audit, each once, and what is to be said of those passed over."""

    files: tuple[Path, ...]
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Refused:
    """A file that could not be audited, and why."""

    file: str
    problems: tuple[Problem, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Batch:
    """Audited files in the order in which they were chosen, and those that were refused."""

    files: tuple[AuditedFile, ...]
    refused: tuple[Refused, ...]
    remarks: tuple[str, ...] = ()


def choose(names: Sequence[Path]) -> Chosen:
    """Return the files that names, folders and patterns (`*`, `?`, `[...]`) stand for.

    A named file is always meant. A folder stands for all files below it that can be audited,
    sorted by path; hidden ones, links to folders and what is of no such kind are passed
    over, and said so. Raises InputError where a name stands for nothing, all at once.
    """
    found: dict[Path, Path] = {}
    passed: list[Path] = []
    problems: list[Problem] = []
    for name in names:
        try:
            for path in _meant(name, passed):
                found.setdefault(path.resolve(), path)
        except InputError as error:
            problems += error.problems
    if not found and not problems:
        first = names[0] if names else Path()
        problems = [*_nothing(first).problems]
    if problems:
        raise InputError(*problems)
    skipped = [path for path in passed if _resolved(path) not in found]
    return Chosen(files=tuple(found.values()), remarks=tuple(_remarks(skipped)))


def audit_batch(
    chosen: Chosen, asked: Asked, *, workers: Workers = in_turn, progress: Progress = silent
) -> Batch:
    """Audit every chosen file; one that is refused does not stop the others.

    Raises InputError where nothing can be audited: every file is refused.
    """
    files: list[AuditedFile] = []
    refused: list[Refused] = []
    total = len(chosen.files)
    results = workers(partial(_try, _beside(chosen, asked)), chosen.files)
    for done, (path, result) in enumerate(zip(chosen.files, results, strict=True), 1):
        progress("audited files", done, total, note=path.name)
        if isinstance(result, InputError):
            refused.append(Refused(file=str(path), problems=result.problems))
        else:
            files.append(result)
    if not files:
        raise InputError(*dict.fromkeys(p for each in refused for p in each.problems))
    return Batch(files=tuple(files), refused=tuple(refused), remarks=chosen.remarks)


def _beside(chosen: Chosen, asked: Asked) -> Asked:
    """Hold toolpaths against settings that were named along with them, if there is one file."""
    kinds = {path: kind_name(path) for path in chosen.files}
    named = [path for path, kind in kinds.items() if kind.startswith("settings")]
    if len(named) != 1 or "toolpath" not in kinds.values():
        return asked
    try:
        return replace(asked, profile=said_by(named[0], asked))
    except InputError:
        return asked  # its own audit says what is wrong with it


def worth_sharing(chosen: Chosen) -> bool:
    """Tell whether other processes would save time: several large files, or several jobs."""
    if len(chosen.files) < 2:
        return False
    large = sum(path.stat().st_size for path in chosen.files if path.is_file()) > SHARED_BYTES
    jobs = [path for path in chosen.files if kind_name(path) == "job"]
    return large or len(jobs) > 1


def _try(asked: Asked, path: Path) -> AuditedFile | InputError:
    try:
        return audit_file(path, asked)
    except InputError as error:
        return error


def _meant(name: Path, passed: list[Path]) -> Iterator[Path]:
    """Yield the files that one name stands for; add those passed over to `passed`."""
    if _is_folder(name):
        yield from _below(name, passed)
    elif _exists(name) or not _is_pattern(name):
        if not _exists(name):
            raise missing_file(name, expected=f"a file of {FILES}")
        yield name
    else:
        yield from _matching(name, passed)


def _matching(pattern: Path, passed: list[Path]) -> Iterator[Path]:
    matches = sorted(Path(match) for match in glob(str(pattern), recursive=True))  # noqa: PTH207 (Path.glob takes no absolute pattern)
    if not matches:
        raise input_error(
            pattern,
            found="no file of that pattern",
            expected=f"files of {FILES}",
            remedy="check the pattern and the folder",
        )
    for match in matches:
        if not _is_folder(match):
            yield from _known([match], passed)


def _below(folder: Path, passed: list[Path]) -> Iterator[Path]:
    known = list(_known(_walk(folder, passed), passed))
    if not known:
        raise _nothing(folder)
    yield from known


def _nothing(name: Path) -> InputError:
    return input_error(
        name,
        found=f"no {FILES}",
        expected="at least one",
        remedy="name the files themselves, or another folder",
    )


def _known(paths: Sequence[Path], passed: list[Path]) -> Iterator[Path]:
    for path in paths:
        if is_meant(path):
            yield path
        else:
            passed.append(path)


def _walk(folder: Path, passed: list[Path]) -> list[Path]:
    """Return the plain files below a folder, sorted, hidden ones and linked folders aside."""
    files: list[Path] = []
    try:
        entries = sorted(folder.iterdir())
    except OSError as error:
        raise input_error(
            folder,
            found=f"a folder that cannot be looked into ({error.strerror})",
            expected="a folder that you may read",
            remedy="check who may read it",
        ) from error
    for entry in entries:
        if entry.name.startswith("."):
            passed.append(entry)
        elif not _is_folder(entry):
            files.append(entry)
        elif entry.is_symlink():
            passed.append(entry)
        else:
            files += _walk(entry, passed)
    return files


def _remarks(passed: Sequence[Path]) -> Iterator[str]:
    hidden = sorted(path for path in passed if path.name.startswith("."))
    others = sorted(path for path in passed if not path.name.startswith("."))
    for paths, why in ((hidden, "hidden"), (others, f"none of {FILES}")):
        if paths:
            more = len(paths) - NAMED_MAX
            names = [str(path) for path in paths[:NAMED_MAX]]
            names += [f"{more} more"] if more > 0 else []
            yield f"passed over, {why}: {listed(tuple(names))}"


def _is_pattern(name: Path) -> bool:
    return any(mark in str(name) for mark in "*?[")


def _is_folder(path: Path) -> bool:
    try:
        return path.is_dir()
    except (OSError, ValueError):
        return False


def _resolved(path: Path) -> Path:
    try:
        return path.resolve()
    except (OSError, RuntimeError):  # a link that leads to itself
        return path


def _exists(path: Path) -> bool:
    try:
        return path.exists()
    except (OSError, ValueError):
        return False
