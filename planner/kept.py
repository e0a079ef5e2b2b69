"""Arrays kept on disk under a name made of their content: what costs seconds is done once.

Entries are numpy archives without pickled objects. They lie under $PLATEWRIGHT_CACHE (set but
empty: nothing is kept) or ~/.cache/platewright. An entry is written beside its place and then
moved there, so that no reader sees half of one; one that cannot be read counts as missing;
where nothing can be written, nothing is kept. The oldest entries go when all together pass a
bound.
"""

from __future__ import annotations

import contextlib
import os
import tempfile
import zipfile
import zlib
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

PLACE = "PLATEWRIGHT_CACHE"
"""Environment variable that names the folder."""

MOST_BYTES = 512 * 1024 * 1024
ENDING = ".npz"
BROKEN = (
    OSError,
    ValueError,
    KeyError,
    EOFError,
    TypeError,  # one array in the place of an archive
    MemoryError,  # a header that asks for absurdly much
    zipfile.BadZipFile,
    zlib.error,
)
"""What may be raised by an entry that makes no sense."""


def folder() -> Path | None:
    """Return where entries lie, or None if none are to be kept."""
    named = os.environ.get(PLACE)
    if named is not None:
        return Path(named) if named else None
    try:
        return Path.home() / ".cache" / "platewright"
    except RuntimeError:  # a user without a home
        return None


def digest_of_code(folders: Iterable[Path], *versions: str) -> bytes:
    """Digest of the source files that decide a result, so that another version finds none."""
    content = sha256(" ".join((np.__version__, *versions)).encode())
    for place in folders:
        for file in sorted(place.glob("*.py")):
            content.update(file.name.encode() + file.read_bytes())
    return content.digest()


def write(file: Path, arrays: Mapping[str, Any], *, most_bytes: float = MOST_BYTES) -> None:
    """Write an entry and drop the oldest ones over the bound; trouble is passed over."""
    with contextlib.suppress(OSError):
        file.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=file.parent, suffix=".part")
        try:
            with os.fdopen(handle, "wb") as stream:
                np.savez(stream, **arrays)
            Path(name).replace(file)
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise
        _prune(file.parent, most_bytes)


def read(file: Path) -> dict[str, Any]:
    """Read an entry; raises one of `BROKEN` if there is none, or none that makes sense."""
    with file.open("rb") as stream, np.load(stream, allow_pickle=False) as archive:
        return {name: archive[name] for name in archive.files}


def _prune(place: Path, most_bytes: float) -> None:
    """Drop the entries that were written longest ago until the rest keep the bound."""
    entries = sorted(
        ((file.stat().st_mtime_ns, file.name, file.stat().st_size) for file in place.iterdir()),
        reverse=True,
    )
    total = 0
    for _, name, size in entries:
        total += size
        if total > most_bytes and name.endswith((ENDING, ".part")):
            (place / name).unlink(missing_ok=True)
