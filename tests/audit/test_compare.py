"""Two files side by side."""

import pytest

from planner.audit.compare import Said, compare, comparison_document


def said(name, values, as_written=None):
    return Said(
        file=name,
        values=values,
        origin={key: f"{name}:{line}" for line, key in enumerate(values, 1)},
        as_written=as_written or {},
    )


def test_each_key_is_in_one_group_or_the_same():
    """Sorted by key, with values and places of both."""
    a = said("a", {"walls": 2, "layer_mm": 0.2, "fan": 1.0, "brim_mm": 0.0})
    b = said("b", {"walls": 3, "layer_mm": 0.2, "bed_c": 60.0, "brim_mm": 4.0})
    comparison = compare(a, b)

    assert [(e.key, e.a, e.b) for e in comparison.different] == [("brim_mm", 0, 4), ("walls", 2, 3)]
    assert [(e.key, e.a, e.a_where) for e in comparison.only_a] == [("fan", 1.0, "a:3")]
    assert [(e.key, e.b, e.b_where) for e in comparison.only_b] == [("bed_c", 60.0, "b:3")]
    assert comparison.same == 1


@pytest.mark.parametrize(
    ("a", "b", "same"),
    [
        (0.1 + 0.2, 0.3, 1),
        (0.2, 0.2001, 0),
        ("PLA", "pla", 1),
        ("grid", "lines", 0),
        (True, True, 1),
        (True, False, 0),
        (True, 1, 0),
        (0, 0.0, 1),
    ],
)
def test_like_is_compared_with_like(a, b, same):
    """Rounding and capitals are no difference; true is not 1."""
    assert compare(said("a", {"key": a}), said("b", {"key": b})).same == same


def test_swapping_the_files_swaps_the_groups():
    """A comparison has two sides and no favourite."""
    a, b = said("a", {"x": 1, "y": 2}), said("b", {"y": 3, "z": 4})
    one, other = compare(a, b), compare(b, a)

    assert [e.key for e in one.only_a] == [e.key for e in other.only_b] == ["x"]
    assert [(e.a, e.b) for e in one.different] == [(e.b, e.a) for e in other.different]


def test_what_was_not_understood_is_compared_as_written():
    """After the keys that were, and marked so."""
    a = said("a", {"walls": 2}, {"ironing": "on", "seam": "back"})
    b = said("b", {"walls": 3}, {"ironing": "off"})
    document = comparison_document(compare(a, b))

    assert [(e["key"], e["understood"]) for e in document["different"]] == [
        ("walls", True),
        ("ironing", False),
    ]
    assert [e["key"] for e in document["only_a"]] == ["seam"]
    assert document["schema"] == "platewright/compare/1"
