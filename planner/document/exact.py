"""Numbers as they are written: exact or refused."""

from __future__ import annotations

from math import isfinite

DIGITS_MAX = 40
"""No quantity of this trade has more digits; longer ones are a slip (or an attack)."""


class UnusableError(ValueError):
    """A scalar that has no finite value; carries what to tell the user."""

    def __init__(self, *, found: str, expected: str, remedy: str) -> None:
        self.found, self.expected, self.remedy = found, expected, remedy
        super().__init__(found)


def whole(text: str, base: int = 10) -> int:
    """Return the integer written as `text`; raises UnusableError above `DIGITS_MAX` digits."""
    if len(text) > DIGITS_MAX:
        raise UnusableError(
            found=f"a number of {len(text)} digits",
            expected=f"at most {DIGITS_MAX} digits",
            remedy="write the number that you mean",
        )
    return int(text, base)


def decimal(text: str) -> float:
    """Return the finite number written as `text`; raises UnusableError if there is none."""
    value = float(text)
    if not isfinite(value):
        raise not_finite(text)
    return value


def not_finite(text: str) -> UnusableError:
    """Return the refusal of a number such as .inf, NaN or 1e999."""
    return UnusableError(
        found=text if len(text) <= DIGITS_MAX else "a number beyond all bounds",
        expected="a finite number",
        remedy="write the number that you mean",
    )
