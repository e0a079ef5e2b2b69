"""Groups of things that must, or must not, be together: joined up, and held against each other."""

from __future__ import annotations

from itertools import chain, combinations
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence


def joined_groups(groups: Iterable[Sequence[str]]) -> tuple[tuple[str, ...], ...]:
    """Join groups that share a name, names in the order in which they first occur.

    >>> joined_groups([("a", "b"), ("c", "d"), ("b", "e")])
    (('c', 'd'), ('a', 'b', 'e'))
    """
    whole: list[dict[str, None]] = []
    for group in groups:
        own = dict.fromkeys(group)
        touching = [other for other in whole if own.keys() & other.keys()]
        for other in touching:
            whole.remove(other)
        whole.append(dict.fromkeys(chain(*touching, own)))
    return tuple(tuple(group) for group in whole)


def contradiction(
    together: Iterable[Sequence[str]], apart: Iterable[Sequence[str]]
) -> tuple[str, str] | None:
    """Return two names that must be both together and apart, if there are any.

    >>> contradiction([("a", "b"), ("b", "c")], [("a", "c")])
    ('a', 'c')
    """
    joined = joined_groups(together)
    for group in apart:
        for one, other in combinations(dict.fromkeys(group), 2):
            if any(one in own and other in own for own in joined):
                return one, other
    return None
