"""Open a zip archive from a stranger: bounded in number, size and ratio of its entries."""

from __future__ import annotations

import io
import zipfile
import zlib
from typing import TYPE_CHECKING

from planner.errors import InputError, input_error
from planner.solid.words import clipped

if TYPE_CHECKING:
    from collections.abc import Mapping

MOST_ENTRIES = 1000
MOST_UNPACKED = 300_000_000
"""Bytes: 2 million triangles take about 150 MB of XML."""
MOST_RATIO = 100
"""Unpacked over packed size of an entry above 1 MB. Meshes reach 5 to 20; deflate cannot
exceed 1032 (zlib's technical notes, from memory), which only padding comes near."""


def unpack(data: bytes, suffixes: tuple[str, ...], *, file: object) -> Mapping[str, bytes]:
    """Return the entries with one of the suffixes, by name without a leading slash.

    Raises InputError for what is no zip archive, is damaged, encrypted or a bomb.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            entries = archive.infolist()
            _check(entries, file)
            wanted = [entry for entry in entries if entry.filename.lower().endswith(suffixes)]
            return {entry.filename.lstrip("/"): archive.read(entry) for entry in wanted}
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, ValueError) as error:
        raise _unreadable(file, f"an archive that cannot be read ({clipped(str(error))})") from None
    except (NotImplementedError, RuntimeError) as error:
        raise _unreadable(file, f"a locked or unusual archive ({clipped(str(error))})") from None


def _check(entries: list[zipfile.ZipInfo], file: object) -> None:
    """Refuse by the sizes that the archive declares; reading never yields more than those."""
    if len(entries) > MOST_ENTRIES:
        raise _bomb(file, f"{len(entries)} entries", f"at most {MOST_ENTRIES}")
    total = sum(entry.file_size for entry in entries)
    if total > MOST_UNPACKED:
        raise _bomb(file, f"{total / 1e6:.0f} MB unpacked", f"at most {MOST_UNPACKED / 1e6:.0f} MB")
    for entry in entries:
        ratio = entry.file_size / max(entry.compress_size, 1)
        if entry.file_size > 1_000_000 and ratio > MOST_RATIO:
            raise _bomb(
                file,
                f"'{clipped(entry.filename)}' packed {ratio:.0f} to 1",
                f"at most {MOST_RATIO} to 1",
            )


def _bomb(file: object, found: str, expected: str) -> InputError:
    return input_error(
        file, found=found, expected=expected, remedy="export the part alone, as 3MF or binary STL"
    )


def _unreadable(file: object, found: str) -> InputError:
    return input_error(
        file,
        found=found,
        expected="a 3MF, which is an ordinary zip archive",
        remedy="the file is damaged or has the wrong extension: export it again",
    )
