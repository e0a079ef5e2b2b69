"""Thirty made-up files with shuffled words, 5 of 100 of them unknown; truth is known."""

from __future__ import annotations

import importlib.util
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.settings.reader.read import read_text_of

_spec = importlib.util.spec_from_file_location("generate", Path(__file__).with_name("generate.py"))
generate = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(generate)

SEEDS = range(30)


@pytest.fixture(scope="module")
def outcomes(alike):
    """Return per file: how many keys it has, how many were read, and which wrongly."""

    def outcome(seed, unknown):
        made = generate.made(seed, unknown=unknown)
        read = read_text_of(made.text.encode(), f"made {seed}").read
        wrong = [
            key
            for key, each in read.items()
            if key not in made.truth or not alike(each.value, made.truth[key])
        ]
        return made, len(read), wrong

    return lambda unknown: [outcome(seed, unknown) for seed in SEEDS]


def test_with_unknown_words_little_is_lost_and_nothing_wrong(outcomes):
    """Precision at least 0.99, recall at least 0.90, where 5 of 100 words are unknown.

    A key of n words is whole with probability 0.95^n; with the 2 words of most keys here
    that is 0.90, so hardly anything but the keys with an unknown word may be lost.
    """
    every = outcomes(0.05)
    keys = sum(len(made.truth) for made, _, _ in every)
    read, wrong = sum(n for _, n, _ in every), sum(len(w) for _, _, w in every)

    assert sum(m.unknown for m, _, _ in every) >= 0.045 * sum(m.words for m, _, _ in every)
    assert (read - wrong) / read >= 0.99
    assert (read - wrong) / keys >= 0.90


def test_without_unknown_words_everything_is_read(outcomes):
    """Order, language, style, form, unit and decimal mark do not matter; traps stay unread."""
    for made, read, wrong in outcomes(0.0):
        assert not wrong
        assert read == len(made.truth)


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(min_value=10_000, max_value=10**9))
def test_any_made_up_file_is_read_wholly(seed):
    """As above, for files that nobody looked at."""
    made = generate.made(seed, unknown=0.0)
    read = read_text_of(made.text.encode(), "made").read

    assert {key: each.value for key, each in read.items()} == pytest.approx(made.truth)


FOREIGN = ("raft", "standby", "thin", "overlap", "detection")


@pytest.mark.parametrize("language", range(6))
@pytest.mark.parametrize("foreign", FOREIGN)
def test_no_key_is_read_through_a_word_that_changes_it(foreign, language, read):
    """Every key here, in every language, with a qualifier before, behind and as the section."""
    said = {word: group.split()[language] for word, group in generate.WORDS.items()}
    values = {"switch": "1", "material": "PLA", "°C": "210 °C", "s": "8 s", "°": "45 °"}

    for words, unit, between in generate.NAMES.values():
        name = " ".join(said[word.rstrip("?")] for word in words.split())
        value = values.get(unit, f"{between[0] if between else 1} {unit}")
        assert not read(f"{said[foreign]} {name} = {value}\n")
        assert not read(f"{name} {said[foreign]} = {value}\n")
        assert not read(f"[{said[foreign]}]\n{name} = {value}\n")
