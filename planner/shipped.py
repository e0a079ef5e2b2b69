"""Where the files that come with the program lie: in the wheel, or in a checkout."""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent
_IN_WHEEL = _PACKAGE / "_shipped"


def profiles_dir() -> Path:
    """Return the folder of shipped profiles (`printers/`, `filaments/`, ...)."""
    return _IN_WHEEL / "profiles" if _IN_WHEEL.is_dir() else _PACKAGE.parent / "profiles"


def workshop_dir() -> Path:
    """Return the folder of the sample workshop that `platewright start` copies."""
    if _IN_WHEEL.is_dir():
        return _IN_WHEEL / "workshop"
    return _PACKAGE.parent / "samples" / "workshop"
