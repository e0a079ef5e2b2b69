"""From a path to text: whatever is not an ordinary, readable, short UTF-8 file is refused."""

from __future__ import annotations

from stat import S_ISDIR, S_ISREG
from typing import TYPE_CHECKING

from planner.document.wording import nearest
from planner.errors import InputError, input_error

if TYPE_CHECKING:
    from pathlib import Path


def read_text(path: Path, *, limit_mb: float, kind: str) -> str:
    """Return the text of a file of at most `limit_mb` (1 MB is 10^6 bytes).

    `kind` ("YAML", "JSON") only words the messages. Raises InputError.
    """
    try:
        return _decoded(path, read_bytes(path, limit_mb=limit_mb, kind=kind), kind)
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else str(error)
        raise input_error(
            _printable(path),
            found=f"a file that cannot be opened ({reason})",
            expected=f"a readable {kind} file",
            remedy="check its name and who may read it",
        ) from error


def why_no_file(path: Path) -> str:
    """Return why `path` is no ordinary file, to be put after its name, or "" if it is one.

    Never raises: a path may be too long, forbidden, or not even writable as bytes.
    """
    try:
        ordinary = S_ISREG(path.stat().st_mode)
    except (FileNotFoundError, NotADirectoryError, ValueError):
        ordinary = False
    except OSError as error:
        return f"which cannot be looked at ({error.strerror})"
    return "" if ordinary else "which is no file"


def missing_file(path: Path, *, expected: str) -> InputError:
    """Return the refusal for a file that is not there; its remedy names the nearest."""
    return input_error(
        path, found="no such file", expected=expected, remedy=remedy_for_missing(path)
    )


def remedy_for_missing(path: Path) -> str:
    """Return what to do about a file that is not there."""
    near = nearest_file(path)
    if near is not None:
        return f"did you mean {near.name}?"
    if not _is_folder(path.parent):
        return f"there is no folder {path.parent}; check the path"
    return "check the name and the folder"


def _is_folder(path: Path) -> bool:
    try:
        return path.is_dir()
    except OSError:
        return False


def nearest_file(path: Path) -> Path | None:
    """Return the file in the same folder whose name is most like `path`'s, if any is.

    Names are compared without their endings: "nope.stl" and "panel.stl" have nothing in
    common. Another ending is a slip only if all else is the same.
    """
    try:
        found = (entry for entry in path.parent.iterdir() if entry.is_file())
        others = sorted(found, key=lambda entry: entry.name)
    except OSError:
        return None
    ending = path.suffix.lower()
    same = {entry.stem: entry for entry in others if entry.suffix.lower() == ending}
    near = nearest(path.stem, same)
    if near is not None:
        return same[near]
    return next((entry for entry in others if entry.stem == path.stem), None)


def read_bytes(path: Path, *, limit_mb: float, kind: str) -> bytes:
    """Return the content of an ordinary file of at most `limit_mb` (1 MB is 10^6 bytes).

    Never reads more than that. Raises InputError, or OSError and ValueError where the
    system refuses.
    """
    expected = f"a {kind} file"
    try:
        mode = path.stat().st_mode
    except FileNotFoundError:
        raise missing_file(path, expected=expected) from None
    if not S_ISREG(mode):
        found = "a folder" if S_ISDIR(mode) else "a device or a pipe"
        raise input_error(path, found=found, expected=expected, remedy="name an ordinary file")
    limit = int(limit_mb * 1e6)
    with path.open("rb") as stream:
        content = stream.read(limit + 1)
    if len(content) > limit:
        raise input_error(
            path,
            found=f"a file of more than {limit_mb:g} MB",
            expected=f"{expected} of at most {limit_mb:g} MB",
            remedy="check that it is the right file",
        )
    return content


def _decoded(path: Path, content: bytes, kind: str) -> str:
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise input_error(
            path,
            line=content.count(b"\n", 0, error.start) + 1,
            found=f"byte 0x{content[error.start]:02x}, which is not UTF-8",
            expected=f"{kind} text in UTF-8",
            remedy="save the file as UTF-8 in your editor",
        ) from error
    if not text.strip():
        raise input_error(
            path,
            found="an empty file",
            expected=f"{kind} text",
            remedy="write it, or name another file",
        )
    return text


def _printable(path: Path) -> str:
    return str(path).replace("\0", "\\0")
