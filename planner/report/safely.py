"""Files written all together or not at all, and never over a file of the user's.

Everything is first written under a temporary name in the folder where it will stand and
flushed to the disk; only then are the files renamed. If anything goes wrong on the way (a
full disk, Ctrl-C), what was there before is there again and no temporary file is left.
"""

from __future__ import annotations

import os
import secrets
from contextlib import contextmanager, suppress
from functools import partial
from pathlib import Path
from signal import SIG_IGN, SIGINT, SIGTERM, getsignal, signal
from threading import current_thread, main_thread
from typing import TYPE_CHECKING

from planner.errors import InputError, Problem, input_error

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping

_FORCE = "move it away, choose another place, or add --force to replace it"


def write_text_safely(path: Path, text: str, *, force: bool) -> Path:
    """Write one text file (UTF-8) and return its path.

    Raises InputError if the file exists and `force` is off, if a folder stands in its place,
    or if it cannot be written; then nothing has changed.
    """
    files = {path: text.encode()}
    refuse(obstacles(files, lambda _path: force))
    commit(files)
    return path


def copy_tree_safely(source: Path, target: Path, *, force: bool) -> tuple[Path, ...]:
    """Copy the files under `source` into `target`; return the paths there, sorted.

    A file that is already there with the same content is no obstacle; one with other content
    is refused unless `force`. Raises InputError before anything is written.
    """
    files = {target / path.relative_to(source): path.read_bytes() for path in _files(source)}

    def may_replace(path: Path) -> bool:
        return force or (not path.is_symlink() and path.read_bytes() == files[path])

    refuse(obstacles(files, may_replace, root=target))
    commit(files)
    return tuple(files)


def obstacles(
    files: Iterable[Path], may_replace: Callable[[Path], bool], *, root: Path | None = None
) -> tuple[Problem, ...]:
    """Return what stands in the way of writing `files`, each problem once.

    `may_replace` is asked about existing files only. Folders between `root` and a file may
    not be links, or the file would land outside `root`.
    """
    found: dict[Problem, None] = {}
    for path in files:
        try:
            problem = _blocked_folder(path.parent, root) or _blocked_file(path, may_replace)
        except OSError as cause:  # a folder that may not even be looked into
            raise _refused_by_system(cause, path) from cause
        if problem is not None:
            found[problem] = None
    return tuple(found)


def refuse(problems: tuple[Problem, ...]) -> None:
    """Raise InputError if there are any problems."""
    if problems:
        raise InputError(*problems)


def commit(files: Mapping[Path, bytes], remove: Iterable[Path] = ()) -> None:
    """Write all `files` and remove those of `remove`, or change nothing.

    Raises InputError if the system refuses (no space, no permission); Ctrl-C and a polite
    request to end (SIGTERM) pass through after everything has been put back.
    """
    with _interrupted_once():
        _commit(files, remove)


def _commit(files: Mapping[Path, bytes], remove: Iterable[Path]) -> None:
    undo: list[Callable[[], object]] = []
    backups: list[Path] = []
    try:
        ready = [(_staged(path, content, undo), path) for path, content in files.items()]
        for path in remove:
            _set_aside(path, undo, backups)
        for staged, path in ready:
            _set_aside(path, undo, backups)
            undo.append(partial(path.unlink, missing_ok=True))
            staged.replace(path)
    except BaseException as cause:
        _put_back(undo)
        if isinstance(cause, OSError):
            raise _refused_by_system(cause, next(iter(files), Path())) from cause
        raise
    try:
        _clear(backups)
    except BaseException:
        _clear(backups)
        raise


@contextmanager
def _interrupted_once() -> Iterator[None]:
    """Let the first signal through and be deaf to those after it, which would stop the undoing.

    Only the main thread may do so; elsewhere nothing is changed.
    """
    if current_thread() is not main_thread():
        yield
        return

    def first(number: int, _frame: object) -> None:
        for each in before:
            signal(each, SIG_IGN)
        raise KeyboardInterrupt if number == SIGINT else SystemExit(128 + number)

    before = {each: getsignal(each) for each in (SIGINT, SIGTERM)}
    heard = [each for each, handler in before.items() if handler not in (SIG_IGN, None)]
    for each in heard:
        signal(each, first)
    try:
        yield
    finally:
        for each in heard:
            signal(each, before[each])


def same_file(a: Path, b: Path) -> bool:
    """Tell whether two names stand for one file, as links do too."""
    try:
        return a.absolute() == b.absolute() or a.resolve() == b.resolve() or a.samefile(b)
    except (OSError, RuntimeError, ValueError):
        return False


def _put_back(undo: list[Callable[[], object]]) -> None:
    for step in reversed(undo):
        with suppress(OSError):
            step()


def _clear(backups: Iterable[Path]) -> None:
    for backup in backups:
        with suppress(OSError):
            backup.unlink(missing_ok=True)


def _staged(path: Path, content: bytes, undo: list[Callable[[], object]]) -> Path:
    """Write `content` under a temporary name beside `path`, flushed to the disk."""
    _make_folder(path.parent, undo)
    staged = _beside(path, "tmp")
    undo.append(partial(staged.unlink, missing_ok=True))  # first: Ctrl-C may come in between
    with staged.open("xb") as stream:
        stream.write(content)
        stream.flush()
        os.fsync(stream.fileno())
    return staged


def _set_aside(path: Path, undo: list[Callable[[], object]], backups: list[Path]) -> None:
    """Rename what is at `path`, if anything, so that it can be put back."""
    if not path.is_symlink() and not path.exists():
        return
    backup = _beside(path, "old")
    undo.append(partial(backup.replace, path))  # fails, harmlessly, if there is no backup yet
    backups.append(backup)
    path.replace(backup)


def _beside(path: Path, ending: str) -> Path:
    """Return a name in the same folder that nobody else has; it is gone before we are done."""
    return path.with_name(f".platewright-{secrets.token_hex(8)}.{ending}")


def _make_folder(folder: Path, undo: list[Callable[[], object]]) -> None:
    missing = [step for step in (folder, *folder.parents) if not step.exists()]
    for step in reversed(missing):
        undo.append(step.rmdir)  # refused, and rightly so, if it is not empty
        step.mkdir()


def _files(source: Path) -> list[Path]:
    """Return the plain files under a folder, sorted; links and caches are left behind."""
    return sorted(
        path
        for path in source.rglob("*")
        if path.is_file() and not path.is_symlink() and "__pycache__" not in path.parts
    )


def _blocked_folder(folder: Path, root: Path | None) -> Problem | None:
    for step in (folder, *folder.parents):
        if step.exists() and not step.is_dir():
            return Problem(
                file=str(step),
                found="a file",
                expected="a folder to write into",
                remedy="choose another place or move the file away",
            )
        inside = root is not None and step != root and step.is_relative_to(root)
        if inside and step.is_symlink():
            return Problem(
                file=str(step),
                found="a link to another place",
                expected="a folder of its own",
                remedy="remove the link: files would be written outside the chosen folder",
            )
    return None


def _blocked_file(path: Path, may_replace: Callable[[Path], bool]) -> Problem | None:
    if path.is_dir() and not path.is_symlink():
        return Problem(
            file=str(path),
            found="a folder",
            expected="no folder where a file is to be written",
            remedy="move it away or choose another place",
        )
    if path.exists() and not path.is_file():  # replacing one would break it for everybody
        return Problem(
            file=str(path),
            found="a device or a pipe",
            expected="a place for an ordinary file",
            remedy="choose another place",
        )
    if not (path.exists() or path.is_symlink()) or may_replace(path):
        return None
    found = "a link" if path.is_symlink() else "a file that is not as we would have left it"
    return Problem(
        file=str(path), found=found, expected="no file of yours in the way", remedy=_FORCE
    )


def _refused_by_system(cause: OSError, fallback: Path) -> InputError:
    reason = (cause.strerror or str(cause)).lower()
    return input_error(
        cause.filename or fallback.parent,
        found=f"that it cannot be written ({reason})",
        expected="a folder with space and permission to write",
        remedy="free some space or choose another place; nothing was changed",
    )
