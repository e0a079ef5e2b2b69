"""The shipped lexicon is sound, and a user adds words to it."""

from __future__ import annotations

import pytest

from planner.errors import InputError
from planner.settings.form import SETTING_KEYS, AccelerationForm
from planner.settings.reader import load_lexicon, shipped_lexicon

SCHEMA = "schema: platewright/lexicon/1\n"


def test_every_key_of_settings_can_be_said():
    """All keys that a profile may have, one by one where they are per feature."""
    accelerations = {f"feature_acceleration_mm_s2.{each}" for each in AccelerationForm.model_fields}
    wanted = (set(SETTING_KEYS) | accelerations) - {"speed_mm_s", "feature_acceleration_mm_s2"}

    assert wanted <= set(shipped_lexicon().keys)


def test_every_share_and_count_leads_to_a_key():
    lexicon = shipped_lexicon()

    for meaning in lexicon.meanings:
        assert {*meaning.becomes, *meaning.between} <= set(lexicon.keys)
        assert meaning.share_of is None or meaning.share_of in lexicon.keys


def test_a_word_of_the_command_line_is_a_word(read):
    lexicon = load_lexicon(words=["herzkammer=infill", "Kranz = brim width"])

    assert not read("herzkammer = 20 %\n")
    assert read("Herzkammer = 20 %\nkranz = 4 mm\n", lexicon) == {"infill": 0.2, "brim_mm": 4}


def test_a_whole_key_can_be_named(read):
    lexicon = load_lexicon(words=["sektor 7=layer_mm", "qz.v = speed_mm_s.travel"])

    assert read("sektor_7 = 0.2\n[qz]\nv = 150\n", lexicon) == {
        "layer_mm": 0.2,
        "speed_mm_s.travel": 150,
    }


def test_a_word_replaces_what_it_meant_before(read):
    """Who says that "core" is a wall here, means it."""
    assert read("cores = 3\n", load_lexicon(words=["cores=wall"])) == {"walls": 3}


def test_a_file_adds_words_keys_and_names(tmp_path, read):
    """`on` and `no` are words there, as YAML 1.2 has it, and not switches."""
    path = tmp_path / "own.yaml"
    path.write_text(
        SCHEMA
        + "words: {wall: [ringwall, on]}\naliases: {qq: infill}\n"
        + "values: {no: [no, nix], material: {pla: [blatt]}}\n"
    )
    text = "ringwall = 3\nqq = 20 %\nsupport = nix\nmaterial = Blatt\n"

    assert read(text, load_lexicon(path)) == {
        "walls": 3,
        "infill": 0.2,
        "support": False,
        "material": "pla",
    }


def test_a_slip_in_what_a_word_means_is_named():
    with pytest.raises(InputError, match=r"did you mean infill\?"):
        load_lexicon(words=["herzkammer=infil"])


@pytest.mark.parametrize(
    "text", ["herzkammer", "=infill", "herzkammer=", "herzkammer=zorp", "a=infil"]
)
def test_a_word_that_says_nothing_is_refused(text):
    with pytest.raises(InputError, match="--word") as caught:
        load_lexicon(words=[text])

    assert len(caught.value.problems) == 1


REFUSED = [
    ("words: {wall: [true]}\n", "own.yaml:2"),
    ("keys: {walls: {needs: [zorp], quantity: count}}\n", "zorp"),
    ("keys: {walls: {needs: [wall], quantity: weight}}\n", "quantity"),
    ("aliases: {a: wals}\n", "did you mean walls?"),
    ("word: {}\n", "did you mean words?"),
]


@pytest.mark.parametrize(("text", "words"), REFUSED)
def test_a_lexicon_that_cannot_be_meant_is_refused(text, words, tmp_path):
    path = tmp_path / "own.yaml"
    path.write_text(SCHEMA + text)

    with pytest.raises(InputError) as caught:
        load_lexicon(path)
    assert words in str(caught.value)


def test_a_key_of_one_word_is_a_meaning_too(read):
    """It has no underscore, and is no word of the lexicon either."""
    assert read("sektor 7 = 3\n", load_lexicon(words=["sektor 7=walls"])) == {"walls": 3}
