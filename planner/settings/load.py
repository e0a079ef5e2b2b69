"""Profiles read by name or path, bases followed, completeness checked."""

from __future__ import annotations

from dataclasses import fields, replace
from math import inf
from typing import TYPE_CHECKING, Any

from planner.document.wording import listed
from planner.errors import input_error
from planner.settings.form import (
    DemandForm,
    ExceptionForm,
    FilamentFile,
    GuidelineFile,
    PrinterFile,
    SettingsFile,
    SettingsForm,
)
from planner.settings.library import Cited, Layer, chain
from planner.settings.model import (
    Bead,
    Feature,
    Filament,
    Guideline,
    Head,
    Level,
    Patch,
    Printer,
    Rectangle,
    Rule,
    Settings,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from planner.settings.form import AccelerationForm, HeadForm, KeepOutForm, SpeedForm

STRENGTH_KEYS = ("tensile_mpa", "modulus_mpa", "layer_bond", "sustained_share", "service_c_max")
"""What a filament's profile may leave out: then nothing can be said of how much a part holds."""

LIMIT_KEYS = (
    "axis_speed_mm_s",
    "axis_acceleration_mm_s2",
    "strand_speed_mm_s",
    "strand_acceleration_mm_s2",
    "corner_deviation_mm",
)
"""What a printer's profile may leave out: then its limits along the path hold alone."""

START_KEYS = (
    "bed_power_w",
    "bed_heat_j_per_c",
    "nozzle_power_w",
    "nozzle_heat_j_per_c",
    "homing_s",
    "levelling_s",
    "purge_s",
)
"""What a printer's profile may leave out: then its `start_s` holds."""

PLACE_KEYS = ("keep_out", "keep_out_patches", "head", "one_by_one", "preferred_mm")
"""What a printer's profile may leave out: a free bed, and no print of one part after another."""

_NOT_VALUES = {"form", "base"}
_FIRST_WIDTH = "first_layer_width_mm"
_GAINS = "feature_acceleration_mm_s2"


def load_settings(ref: str, cited: Cited | None = None) -> Settings:
    """Return the settings named `ref` (a shipped name, or a path); raises InputError."""
    layers = chain("settings", SettingsFile, ref, cited or Cited())
    values: dict[str, Any] = {}
    origin: dict[str, str] = {}
    speeds: dict[Feature, float] = {}
    gains: dict[Feature, float] = {}
    for layer in layers:
        given = _given(layer.form)
        speeds |= _by_feature(layer.form.speed_mm_s)
        gains |= _by_feature(layer.form.feature_acceleration_mm_s2)
        values |= given
        origin |= {key: layer.origin(key) for key in given}
    values |= {"speed_mm_s": speeds, _GAINS: gains}
    optional = ("name", "origin", _FIRST_WIDTH, "lift_mm")
    _require(layers, [field.name for field in fields(Settings)], values, optional)
    _require(layers, list(Feature), speeds, (), inside="speed_mm_s")
    return _settings(layers[-1].name, values, origin)


def changed_settings(
    settings: Settings, form: SettingsForm, where: Callable[[str], str]
) -> Settings:
    """Return `settings` with what `form` gives in its place; `where` locates a key of it."""
    values = _given(form)
    if not values:
        return settings
    speeds = {**settings.speed_mm_s, **_by_feature(form.speed_mm_s)}
    gains = {
        **settings.feature_acceleration_mm_s2,
        **_by_feature(form.feature_acceleration_mm_s2),
    }
    changed = _settings(
        f"{settings.name} with own {listed(sorted(values), most=3)}",
        {**_plain(settings), **values, "speed_mm_s": speeds, _GAINS: gains},
        {**settings.origin, **{key: where(key) for key in values}},
    )
    return replace(changed)


def load_printer(ref: str, cited: Cited | None = None) -> Printer:
    """Return the printer profile named `ref` (a shipped name, or a path); raises InputError."""
    layers = chain("printers", PrinterFile, ref, cited or Cited())
    values = _merged(layers)
    optional = ("name", "materials", *PLACE_KEYS, *LIMIT_KEYS, *START_KEYS)
    _require(layers, [field.name for field in fields(Printer)], values, optional)
    places = values.get("keep_out") or ()
    values |= {"keep_out": rectangles(places), "keep_out_patches": patches(places)}
    if values.get("head") is not None:
        values["head"] = head_of(values["head"])
    values["materials"] = tuple(word.lower() for word in values.get("materials") or ())
    return Printer(name=layers[-1].name, **values)


def load_filament(ref: str, cited: Cited | None = None) -> Filament:
    """Return the filament profile named `ref` (a shipped name, or a path); raises InputError."""
    layers = chain("filaments", FilamentFile, ref, cited or Cited())
    values = _merged(layers)
    optional = ("name", "needs_enclosure", "caution", *STRENGTH_KEYS)
    _require(layers, [field.name for field in fields(Filament)], values, optional)
    _check_ranges(layers, values)
    values["material"] = values["material"].lower()
    return Filament(name=layers[-1].name, **values)


def load_guideline(ref: str, cited: Cited | None = None) -> Guideline:
    """Return the guideline named `ref` (a shipped name, or a path); raises InputError.

    A rule replaces the base's rule for the same key; an exception replaces the base's
    exception for the same key, parts and tags.
    """
    layers = chain("guidelines", GuidelineFile, ref, cited or Cited())
    rules: dict[tuple[object, ...], Rule] = {}
    for layer in layers:
        for key in layer.form.drop:
            rules = _dropped(rules, key, layer)
        every = [(key, rule) for key, rule in layer.form.rules.items()]
        for key, demand in [*every, *((each.key, each) for each in layer.form.exceptions)]:
            rule = _rule(key, demand)
            rules[(rule.key, rule.parts, rule.tags)] = rule
    return Guideline(name=layers[-1].name, rules=tuple(rules.values()))


def rectangles(forms: Iterable[KeepOutForm]) -> tuple[Rectangle, ...]:
    """Return the keep-out places that are written as rectangles."""
    return tuple(
        Rectangle(
            x_min_mm=form.x_mm[0],
            x_max_mm=form.x_mm[1],
            y_min_mm=form.y_mm[0],
            y_max_mm=form.y_mm[1],
        )
        for form in forms
        if form.x_mm is not None and form.y_mm is not None
    )


def patches(forms: Iterable[KeepOutForm]) -> tuple[Patch, ...]:
    """Return the keep-out places that are written as outlines."""
    return tuple(Patch(points_mm=form.outline) for form in forms if form.outline is not None)


def head_of(form: HeadForm) -> Head:
    """Return the room that a print head takes up."""
    return Head(
        left_mm=form.left_mm,
        right_mm=form.right_mm,
        front_mm=form.front_mm,
        back_mm=form.back_mm,
        tip_mm=form.tip_mm,
        gantry_mm=inf if form.gantry_mm is None else form.gantry_mm,
    )


def _given(form: SettingsForm | PrinterFile | FilamentFile) -> dict[str, Any]:
    """Return what a form says, key by key; a key set to null says nothing."""
    named = {name: getattr(form, name) for name in form.model_fields_set - _NOT_VALUES}
    return {name: named[name] for name in sorted(named) if named[name] is not None}


def _merged(layers: tuple[Layer[Any], ...]) -> dict[str, Any]:
    return {key: value for layer in layers for key, value in _given(layer.form).items()}


def _by_feature(form: SpeedForm | AccelerationForm | None) -> dict[Feature, float]:
    named = {feature: getattr(form, feature.replace(" ", "_"), None) for feature in Feature}
    return {feature: speed for feature, speed in named.items() if speed is not None}


def _plain(settings: Settings) -> dict[str, Any]:
    return {
        field.name: getattr(settings, field.name)
        for field in fields(settings)
        if field.name not in ("name", "origin")
    }


def _settings(name: str, values: Mapping[str, Any], origin: Mapping[str, str]) -> Settings:
    speeds = {feature: values["speed_mm_s"][feature] for feature in Feature}
    fixed = {
        "material": values["material"].lower(),
        "speed_mm_s": speeds,
        "bead": Bead(values["bead"]),
        # written nowhere, it follows the other lines, also when those are changed later
        _FIRST_WIDTH: values[_FIRST_WIDTH if _FIRST_WIDTH in origin else "line_width_mm"],
        "origin": dict(origin),
    }
    return Settings(name=name, **{**values, **fixed})


def _require(
    layers: tuple[Layer[Any], ...],
    keys: list[str],
    values: Mapping[Any, Any],
    optional: tuple[str, ...],
    *,
    inside: str = "",
) -> None:
    """Refuse a profile that is not complete, bases and all."""
    missing = [str(key) for key in keys if key not in values and key not in optional]
    if not missing:
        return
    last = layers[-1]
    words = [key.replace(" ", "_") for key in missing]
    raise input_error(
        last.document.file,
        line=last.document.line(inside),
        place=inside,
        found=f"no {listed(words)}",
        expected="every key, here or in a base",
        remedy=f"add {words[0]}: …, or a base: that has it",
    )


def _check_ranges(layers: tuple[Layer[FilamentFile], ...], values: Mapping[str, Any]) -> None:
    pairs = ("nozzle_c", "bed_c", "infill", *STRENGTH_KEYS[:-1])
    for key in (key for key in pairs if key in values):
        low, high = values[key]
        layer = next(layer for layer in reversed(layers) if key in _given(layer.form))
        if low > high:
            raise input_error(
                layer.document.file,
                line=layer.document.line(key),
                place=key,
                found=f"[{low:g}, {high:g}]",
                expected="[lowest, highest]",
                remedy="swap the two",
            )


def _rule(key: str, form: DemandForm) -> Rule:
    scope = form if isinstance(form, ExceptionForm) else None
    setting, dot, feature = key.partition(".")
    return Rule(
        key=f"{setting}{dot}{feature.replace('_', ' ')}",  # the name of a `Feature`
        level=Level(form.level),
        why=form.why.strip(),
        source=form.source.strip(),
        one_of=form.values,
        at_least=form.at_least,
        at_most=form.at_most,
        usual_of_material=form.usual_of_material,
        parts=scope.parts if scope else (),
        tags=scope.tags if scope else (),
    )


def _dropped(
    rules: dict[tuple[object, ...], Rule], key: str, layer: Layer[GuidelineFile]
) -> dict[tuple[object, ...], Rule]:
    if (key, (), ()) not in rules:
        raise input_error(
            layer.document.file,
            line=layer.document.line("drop"),
            place="drop",
            found=f"the rule {key}, which the base does not have",
            expected="rules of the base",
            remedy="remove it",
        )
    return {where: rule for where, rule in rules.items() if where != (key, (), ())}
