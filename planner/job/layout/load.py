"""A wall file read, cross-checked and put in the frozen form."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.document import read_yaml, validate
from planner.document.files import remedy_for_missing, why_no_file
from planner.document.wording import shown
from planner.job.faults import Faults
from planner.job.layout.crosscheck import check_layout
from planner.job.layout.form import WallsFile
from planner.job.layout.model import Anchor, CutOut, Hung, Levelling, PanelSystem, PartRule, Walls
from planner.job.layout.shapes import shape_of_wall
from planner.job.layout.system_form import NOTHING, SystemFile, SystemForm
from planner.job.model import GRAVITY_N_KG

if TYPE_CHECKING:
    from pathlib import Path

    from planner.document import Document
    from planner.job.layout.form import CutOutForm, HungForm, MountingForm, WallForm, WallsForm
    from planner.job.layout.model import Side, WallShape
    from planner.job.layout.system_form import RuleForm

G_IN_KG = 1e-3
SIDES: tuple[Side, ...] = ("left", "right", "top", "bottom")


def load_walls(path: Path) -> Walls:
    """Read a wall file; the path of its panel system starts from its own folder.

    Raises InputError with everything that is wrong with the forms, or else with their content.
    """
    document = read_yaml(path)
    form = validate(WallsFile, document)
    faults = Faults(document)
    walls = walls_of(form, "", path, faults)
    faults.raise_if_any()
    if walls is None:  # without faults there always are walls
        raise AssertionError(path)
    return walls


def walls_of(form: WallsForm, place: str, path: Path, faults: Faults) -> Walls | None:
    """Return the walls told at `place` of a document ("" for all of it, else "wall.").

    None, with the reasons noted, if something is wrong with them.
    """
    with faults.noting():
        system = _system(form, place, path.parent, faults)
        if system is None:
            return None
        before = len(faults.found)
        check_layout(form, place, system.pitch_mm, faults)
        if len(faults.found) > before:
            return None
        return Walls(
            name=form.name,
            path=path,
            system=system,
            walls=tuple(
                _wall(each, f"{place}walls[{index}]", system.pitch_mm, faults.document)
                for index, each in enumerate(form.walls)
            ),
            extra=dict(form.extra),
            pattern=form.mounting.pattern,
            anchor=_anchor(form.mounting, faults.document.where(f"{place}mounting.anchor")),
            levelling=Levelling(
                level_mm_m=form.levelling.level_mm_m,
                first_panel_mm_m=form.levelling.first_panel_mm_m,
            ),
            band_mm=form.mounting.band_mm,
            panel_weight_n=form.mounting.panel_weight_g * G_IN_KG * GRAVITY_N_KG,
            where_extra=faults.document.where(f"{place}extra"),
        )
    return None


def _system(form: WallsForm, place: str, folder: Path, faults: Faults) -> PanelSystem | None:
    if isinstance(form.system, SystemForm):
        return _system_of(form.system, f"{place}system.", faults.document)
    path = folder / form.system
    why = why_no_file(path)
    if why:
        faults.add(
            f"{place}system",
            found=f"{shown(form.system)}, {why}",
            expected="the file of a panel system, its path starting from this file's folder",
            remedy=remedy_for_missing(path),
        )
        return None
    document = read_yaml(path)
    return _system_of(validate(SystemFile, document), "", document)


def _system_of(form: SystemForm, place: str, document: Document) -> PanelSystem:
    return PanelSystem(
        name=form.name,
        pitch_mm=form.pitch_mm,
        thickness_mm=form.thickness_mm,
        joint_play_mm=form.joint_play_mm,
        rules=tuple(
            _rule(each, document.where(f"{place}rules[{index}]"))
            for index, each in enumerate(form.rules)
        ),
        where=document.where(place.removesuffix(".")) if place else document.file,
    )


def _rule(form: RuleForm, where: str) -> PartRule:
    open_sides = form.open_sides
    return PartRule(
        part=None if form.part == NOTHING else form.part,
        spot=form.at,
        count=form.count,
        open_sides=None if open_sides is None else _sides(open_sides),
        along=form.along,
        shape=form.shape,
        every=form.every or 1,
        bought=form.bought,
        where=where,
    )


def _sides(given: tuple[str, ...]) -> tuple[Side, ...]:
    return tuple(side for side in SIDES if side in given)


def _wall(
    form: WallForm, place: str, pitch_mm: tuple[float, float], document: Document
) -> WallShape:
    return shape_of_wall(
        form,
        pitch_mm,
        cut_outs=tuple(
            _cut_out(each, document.where(f"{place}.cut_outs[{index}]"))
            for index, each in enumerate(form.cut_outs)
        ),
        hung=tuple(
            _hung(each, document.where(f"{place}.hung[{index}]"))
            for index, each in enumerate(form.hung)
        ),
        meets=_sides(form.meets),
        where=document.where(place),
    )


def _cut_out(form: CutOutForm, where: str) -> CutOut:
    return CutOut(
        name=form.name,
        kind=form.kind,
        x_mm=form.x_mm,
        y_mm=form.y_mm,
        width_mm=form.width_mm,
        height_mm=form.height_mm,
        where=where,
    )


def _hung(form: HungForm, where: str) -> Hung:
    return Hung(
        thing=form.thing,
        cell=form.cell,
        count=form.count,
        force_n=form.newtons,
        out_mm=form.out_mm or 0.0,
        where=where,
    )


def _anchor(form: MountingForm, where: str) -> Anchor | None:
    given = form.anchor
    if given is None:
        return None
    return Anchor(
        name=given.name,
        rated_n=given.rated_n,
        factor=given.factor,
        edge_mm=given.edge_mm,
        where=where,
    )
