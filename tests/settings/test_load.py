"""Profiles of the user's own: found by path, inherited, refused in words."""

from __future__ import annotations

from pathlib import Path

import pytest

from planner.document import parse_yaml, validate
from planner.errors import InputError
from planner.settings.form import SettingsForm
from planner.settings.library import Cited
from planner.settings.load import (
    changed_settings,
    load_filament,
    load_guideline,
    load_printer,
    load_settings,
)
from planner.settings.model import Feature, Level

SETTINGS = "schema: platewright/settings/1\n"
FILAMENT = "schema: platewright/filament/1\n"
PRINTER = "schema: platewright/printer/1\n"
GUIDELINE = "schema: platewright/guideline/1\n"


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return tmp_path


def refusal(load, text: str) -> str:
    Path("own.yaml").write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        load("own.yaml")
    return str(caught.value)


def test_an_option_of_the_command_line_is_named():
    with pytest.raises(InputError, match=r"^command line: --settings: found 'nope', expected"):
        load_settings("nope", Cited.option("--settings"))


def test_an_unknown_name_suggests_the_nearest():
    with pytest.raises(InputError) as caught:
        load_settings("sturdy_20")

    assert str(caught.value) == (
        "command line: found 'sturdy_20', expected the name of a settings profile, or a path "
        "ending in .yaml; did you mean sturdy_020?"
    )


def test_an_unknown_name_like_no_other_lists_them_all():
    with pytest.raises(InputError, match="known names: everyday, load_bearing"):
        load_guideline("zzz")


def test_the_blame_goes_to_who_named_it():
    cited = Cited(file="job.yaml", place="printers[0].profile", line=12)

    with pytest.raises(InputError, match=r"job.yaml:12: printers\[0\].profile: found 'x_1'"):
        load_printer("x_1", cited)


@pytest.mark.parametrize(
    "ref", ["../settings/pla", "/etc/passwd", "a\\b", "x.yaml", "a\0.yaml", ""]
)
def test_a_name_never_reaches_outside_the_shipped_folder(folder, ref):
    with pytest.raises(InputError):
        load_settings(ref)


def test_a_path_starts_from_the_file_that_names_it(folder):
    Path("deep").mkdir()
    Path("deep/own.yaml").write_text(SETTINGS + "base: everyday_020\nwalls: 8\n")
    Path("deep/other.yaml").write_text(SETTINGS + "base: ./own.yaml\ninfill: 0.3\n")

    settings = load_settings("deep/other.yaml")

    assert (settings.name, settings.walls, settings.infill) == ("other", 8, 0.3)
    assert settings.origin["walls"] == "deep/own.yaml:3"
    assert settings.origin["infill"] == "deep/other.yaml:3"
    assert settings.origin["layer_mm"] == "profile everyday_020"
    assert load_settings("own.yaml", Cited(folder=Path("deep"))).walls == 8


def test_a_missing_path_names_the_nearest_file(folder):
    Path("mine.yaml").write_text("x")

    with pytest.raises(InputError, match=r"'min.yaml', which is no file, .*did you mean mine.yaml"):
        load_settings("min.yaml")


def test_a_circle_of_bases_is_named_in_full(folder):
    Path("a.yaml").write_text(SETTINGS + "base: ./b.yaml\n")
    Path("b.yaml").write_text(SETTINGS + "base: ./c.yaml\n")
    Path("c.yaml").write_text(SETTINGS + "\nbase: ./b.yaml\n")

    with pytest.raises(InputError) as caught:
        load_settings("a.yaml")

    assert str(caught.value).startswith(
        "c.yaml:3: base: found bases that run in a circle: b -> c -> b, expected"
    )


def test_a_profile_may_be_its_own_base_only_by_mistake(folder):
    assert "own -> own" in refusal(load_settings, SETTINGS + "base: ./own.yaml\n")


def test_an_incomplete_profile_names_what_is_missing(folder):
    message = refusal(load_filament, FILAMENT + "material: pla\ndensity_g_cm3: 1.2\n")

    assert "found no diameter_mm, nozzle_c, bed_c, infill, flow_max_mm3_s" in message
    assert "or a base: that has it" in message


def test_incomplete_speeds_name_what_is_missing(folder):
    whole = "\n".join(
        line
        for line in (Path(__file__).parents[2] / "profiles/settings/everyday_020.yaml")
        .read_text(encoding="utf-8")
        .splitlines()
        if "travel" not in line
    )
    assert "speed_mm_s: found no travel, expected" in refusal(load_settings, whole)


BAD = {
    "percent": (load_settings, SETTINGS + "infill: 15", "write a share: 0.15 for 15 %"),
    "layer": (load_settings, SETTINGS + "layer_mm: 20", "a number from 0.02 to 2 mm"),
    "kelvin": (load_settings, SETTINGS + "nozzle_c: 510", "a number from 100 to 500 °C"),
    "wrong kind": (load_printer, SETTINGS + "walls: 3", "write platewright/printer/1"),
    "no schema": (load_settings, "walls: 3", "add schema: …"),
    "range": (load_filament, FILAMENT + "base: pla\nnozzle_c: [220, 200]", "swap the two"),
    "range word": (load_filament, FILAMENT + "base: pla\nnozzle_c: 200", "as in [200, 220]"),
    "keep out": (
        load_printer,
        PRINTER + "base: compact_180\nkeep_out: [{x_mm: [5, 5], y_mm: [0, 9]}]",
        "[from, to] with from below to",
    ),
    "two demands": (
        load_guideline,
        GUIDELINE + "rules: {walls: {at_least: 3, one_of: [3], level: warn, why: a, source: b}}",
        "found 2 demands",
    ),
    "no demand": (
        load_guideline,
        GUIDELINE + "rules: {walls: {level: warn, why: a, source: b}}",
        "found 0 demands",
    ),
    "no source": (
        load_guideline,
        GUIDELINE + "rules: {walls: {at_least: 3, level: warn, why: a}}",
        "found no source",
    ),
    "unknown setting": (
        load_guideline,
        GUIDELINE + "rules: {wals: {at_least: 3, level: warn, why: a, source: b}}",
        "did you mean walls?",
    ),
    "unknown level": (
        load_guideline,
        GUIDELINE + "rules: {walls: {at_least: 3, level: stopp, why: a, source: b}}",
        "did you mean stop?",
    ),
    "bounds": (
        load_guideline,
        GUIDELINE + "rules: {walls: {at_least: 3, at_most: 2, level: note, why: a, source: b}}",
        "at_least 3 above at_most 2",
    ),
    "usual": (
        load_guideline,
        GUIDELINE + "rules: {walls: {usual_of_material: true, level: note, why: a, source: b}}",
        "usual_of_material for walls",
    ),
    "nobody": (
        load_guideline,
        GUIDELINE + "exceptions: [{key: walls, at_least: 3, level: note, why: a, source: b}]",
        "an exception for nobody",
    ),
    "exactly and more": (
        load_guideline,
        GUIDELINE + "rules: {walls: {exactly: 3, at_least: 2, level: warn, why: a, source: b}}",
        "found 2 demands",
    ),
    "a word for a number": (
        load_guideline,
        GUIDELINE + "rules: {walls: {one_of: [3, many], level: warn, why: a, source: b}}",
        "found walls asked to be 'many', expected a number for walls",
    ),
    "a switch for a number": (
        load_guideline,
        GUIDELINE + "rules: {walls: {exactly: true, level: warn, why: a, source: b}}",
        "expected a number for walls",
    ),
    "a bound for a word": (
        load_guideline,
        GUIDELINE + "rules: {material: {at_least: 3, level: warn, why: a, source: b}}",
        "expected a word for material",
    ),
    "a number for a switch": (
        load_guideline,
        GUIDELINE + "rules: {support: {exactly: 0, level: warn, why: a, source: b}}",
        "expected true or false for support",
    ),
    "parent": (load_guideline, GUIDELINE + "base: everday", "did you mean everyday?"),
    "drop": (load_guideline, GUIDELINE + "drop: [walls]", "which the base does not have"),
}


@pytest.mark.parametrize("case", BAD)
def test_a_faulty_profile_is_refused_in_words(folder, case):
    load, text, words = BAD[case]

    message = refusal(load, text)

    assert message.startswith("own.yaml:")
    assert words in message


def test_a_guideline_that_inherits_itself_is_refused(folder):
    """By whichever way round; the message shows the circle."""
    Path("a.yaml").write_text(GUIDELINE + "base: ./b.yaml")
    Path("b.yaml").write_text(GUIDELINE + "base: ./a.yaml")
    with pytest.raises(InputError, match="circle: a -> b -> a"):
        load_guideline("a.yaml")


def test_exactly_one_value_may_be_asked_for(folder):
    Path("own.yaml").write_text(
        GUIDELINE
        + "rules:\n  layer_mm: {exactly: 0.2, level: stop, why: a, source: b}\n"
        + "  feature_acceleration_mm_s2.outer_wall: {at_most: 900, level: warn, why: c, source: d}"
    )
    layer, gain = load_guideline("own.yaml").rules

    assert (layer.one_of, layer.level) == ((0.2,), Level.STOP)
    assert gain.key == f"feature_acceleration_mm_s2.{Feature.OUTER_WALL}"


def test_a_guideline_inherits_replaces_drops_and_excepts(folder):
    Path("own.yaml").write_text(
        GUIDELINE
        + "base: everyday\ndrop: [support]\n"
        + "rules: {walls: {at_least: 5, level: stop, why: a, source: b}}\n"
        + "exceptions:\n"
        + " - {key: walls, tags: [bin], at_least: 2, level: note, why: thin, source: b}\n"
        + " - {key: speed_mm_s.outer_wall, parts: [x], at_most: 30, level: note, why: c, source: d}"
    )
    rules = load_guideline("own.yaml").rules
    walls = [rule for rule in rules if rule.key == "walls"]

    assert "support" not in [rule.key for rule in rules]
    assert [(rule.at_least, rule.level, rule.tags) for rule in walls] == [
        (5, Level.STOP, ()),
        (2, Level.NOTE, ("bin",)),
    ]
    assert rules[-1].key == f"speed_mm_s.{Feature.OUTER_WALL}"
    assert "layer_mm" in [rule.key for rule in rules]


def test_a_printer_takes_keep_out_and_materials_from_its_base(folder):
    Path("base.yaml").write_text(
        PRINTER + "base: compact_180\nmaterials: [PLA]\nkeep_out: [{x_mm: [0, 5], y_mm: [0, 9]}]"
    )
    Path("own.yaml").write_text(PRINTER + "base: ./base.yaml\nheight_mm: 150\n")
    printer = load_printer("own.yaml")

    assert (printer.name, printer.height_mm, printer.materials) == ("own", 150, ("pla",))
    assert printer.keep_out[0].x_max_mm == 5
    assert printer.keep_out[0].y_max_mm == 9


def test_a_printer_may_lift_the_keep_outs_of_its_base(folder):
    Path("base.yaml").write_text(
        PRINTER + "base: compact_180\nkeep_out: [{x_mm: [0, 5], y_mm: [0, 9]}]"
    )
    Path("own.yaml").write_text(PRINTER + "base: ./base.yaml\nkeep_out: []\n")

    assert load_printer("own.yaml").keep_out == ()


def test_changes_are_laid_over_settings():
    document = parse_yaml("walls: 8\nspeed_mm_s: {travel: 99}", file="job.yaml")
    base = load_settings("everyday_020")
    changed = changed_settings(base, validate(SettingsForm, document), document.where)

    assert changed.name == "everyday_020 with own speed_mm_s, walls"
    assert (changed.walls, changed.infill) == (8, base.infill)
    assert changed.speed_mm_s == {**base.speed_mm_s, Feature.TRAVEL: 99}
    assert changed.origin["walls"] == "job.yaml:1"
    assert changed.origin["infill"] == "profile everyday_020"


def test_no_change_is_the_same_settings():
    base = load_settings("everyday_020")

    assert changed_settings(base, SettingsForm(), str) is base


def own(text: str):
    document = parse_yaml(text, file="job.yaml")
    return validate(SettingsForm, document), document.where


def test_the_first_layer_is_as_wide_as_the_others_unless_written():
    """It follows them when they are changed, until it is written itself."""
    base = load_settings("everyday_020")
    wider = changed_settings(base, *own("line_width_mm: 0.5"))
    first = changed_settings(base, *own("first_layer_width_mm: 0.6"))
    both = changed_settings(first, *own("line_width_mm: 0.5"))

    assert base.first_layer_width_mm == base.line_width_mm
    assert wider.first_layer_width_mm == 0.5
    assert (first.first_layer_width_mm, first.line_width_mm) == (0.6, base.line_width_mm)
    assert (both.first_layer_width_mm, both.line_width_mm) == (0.6, 0.5)


def test_a_profile_may_write_the_first_layer_and_the_lift(folder):
    """Both are passed on to those that name it as their base; the lift is 0 left out."""
    Path("own.yaml").write_text(
        SETTINGS + "base: everyday_020\nfirst_layer_width_mm: 0.6\nlift_mm: 0.4\n"
    )
    Path("other.yaml").write_text(SETTINGS + "base: ./own.yaml\nline_width_mm: 0.5\n")

    assert load_settings("everyday_020").lift_mm == 0.0
    for file in ("own.yaml", "other.yaml"):
        settings = load_settings(file)
        assert (settings.first_layer_width_mm, settings.lift_mm) == (0.6, 0.4)
        assert settings.origin["lift_mm"] == "own.yaml:4"


@pytest.mark.parametrize(
    "line", ["first_layer_width_mm: 0", "first_layer_width_mm: 5.1", "lift_mm: -1", "lift_mm: 21"]
)
def test_widths_and_lifts_out_of_bounds_are_refused(folder, line):
    key = line.partition(":")[0]

    assert key in refusal(load_settings, SETTINGS + "base: everyday_020\n" + line + "\n")


def test_a_printer_may_state_limits_by_axis(folder):
    Path("own.yaml").write_text(
        PRINTER + "base: open_frame_220\naxis_speed_mm_s: [300, 250, 12]\n"
        "axis_acceleration_mm_s2: [3000, 2000, 100]\nstrand_speed_mm_s: 50\n"
        "strand_acceleration_mm_s2: 5000\ncorner_deviation_mm: 0.02\n",
        encoding="utf-8",
    )
    plain, printer = load_printer("open_frame_220"), load_printer("own.yaml")

    assert plain.axis_speed_mm_s is plain.corner_deviation_mm is None
    assert printer.axis_speed_mm_s == (300, 250, 12)
    assert printer.axis_acceleration_mm_s2 == (3000, 2000, 100)
    assert (printer.strand_speed_mm_s, printer.strand_acceleration_mm_s2) == (50, 5000)
    assert printer.corner_deviation_mm == 0.02


@pytest.mark.parametrize("value", ["[300, 300]", "[300, 300, 0]", "[300, 300, -5]", "300"])
def test_limits_by_axis_are_three_numbers(folder, value):
    text = PRINTER + f"base: open_frame_220\naxis_speed_mm_s: {value}\n"

    assert "own.yaml:3: axis_speed_mm_s" in refusal(load_printer, text)


def test_accelerations_of_features_add_up_along_the_bases(folder):
    Path("base.yaml").write_text(
        SETTINGS + "base: sturdy_020\n"
        "feature_acceleration_mm_s2: {outer_wall: 500, travel: 2000}\n",
        encoding="utf-8",
    )
    Path("own.yaml").write_text(
        SETTINGS + "base: base.yaml\nfeature_acceleration_mm_s2: {outer_wall: 600}\n",
        encoding="utf-8",
    )
    own = load_settings("own.yaml")
    change = SettingsForm.model_validate({"feature_acceleration_mm_s2": {"brim": 300}})
    changed = changed_settings(own, change, lambda key: f"job.yaml:{key}")

    assert load_settings("sturdy_020").feature_acceleration_mm_s2 == {}
    assert own.feature_acceleration_mm_s2 == {Feature.OUTER_WALL: 600, Feature.TRAVEL: 2000}
    assert changed.feature_acceleration_mm_s2 == {
        Feature.OUTER_WALL: 600,
        Feature.TRAVEL: 2000,
        Feature.BRIM: 300,
    }


HEATED = (
    PRINTER + "base: open_frame_220\nbed_power_w: 200\nbed_heat_j_per_c: 800\n"
    "nozzle_power_w: 40\nnozzle_heat_j_per_c: 30\nhoming_s: 20\nlevelling_s: 60\n"
)


def test_a_start_is_made_of_heating_homing_levelling_and_purge(folder):
    """By hand: bed 800 (60 - 20) / 200 = 160 s; nozzle 30 (220 - 20) / 40 = 150 s."""
    Path("own.yaml").write_text(HEATED + "purge_s: 15\n", encoding="utf-8")
    printer = load_printer("own.yaml")

    assert printer.start_for(220, 60) == pytest.approx(160 + 20 + 60 + 15)
    assert printer.start_for(220, 40) == pytest.approx(150 + 20 + 60 + 15)
    assert printer.start_for(15, 0) == pytest.approx(20 + 60 + 15)


def test_a_start_known_in_part_is_that_of_the_profile(folder):
    Path("own.yaml").write_text(HEATED, encoding="utf-8")

    assert load_printer("own.yaml").start_for(220, 60) == load_printer("open_frame_220").start_s
