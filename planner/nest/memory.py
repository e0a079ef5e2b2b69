"""What is kept for later, within a limit of bytes.

A store only saves work: whatever it drops is worked out again to the same value, so no answer
depends on what is in it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Generic, TypeVar

if TYPE_CHECKING:
    from collections.abc import Hashable

K = TypeVar("K", bound="Hashable")
V = TypeVar("V")


class Store(Generic[K, V]):
    """Values by key; once full, drops those that were not asked for lately.

    Values live in two generations of half the limit each.  A full young one becomes the old
    one, whose values are dropped unless asked for before the next change: nearly "least
    recently used", at the price of a plain look-up.

    >>> store = Store[str, int](limit_bytes=8)
    >>> store.put("a", 1, size_bytes=3)
    >>> store.put("b", 2, size_bytes=3)
    >>> store.get("a"), store.get("b"), store.get("c")
    (1, 2, None)
    """

    __slots__ = ("_half", "_old", "_used", "_young")

    def __init__(self, limit_bytes: int) -> None:
        self._half, self._used = limit_bytes // 2, 0
        self._young: dict[K, tuple[V, int]] = {}
        self._old: dict[K, tuple[V, int]] = {}

    def get(self, key: K) -> V | None:
        """Return what is kept under a key, or None."""
        found = self._young.get(key)
        if found is None:
            found = self._old.pop(key, None)
            if found is None:
                return None
            self.put(key, *found)
        return found[0]

    def put(self, key: K, value: V, size_bytes: int) -> None:
        """Keep a value that takes up so many bytes."""
        if self._used + size_bytes > self._half:
            self._old, self._young, self._used = self._young, {}, 0
        self._young[key] = value, size_bytes
        self._used += size_bytes
