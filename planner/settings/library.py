"""Finding profiles by name or path, and following their `base:` to the root."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Generic, TypeVar

from pydantic import BaseModel

from planner.document import read_yaml, validate
from planner.document.files import remedy_for_missing, why_no_file
from planner.document.wording import shown, suggestion
from planner.errors import InputError, input_error
from planner.shipped import profiles_dir

if TYPE_CHECKING:
    from planner.document import Document

F = TypeVar("F", bound=BaseModel)

CHECK_PATH = "check the path"
ENDINGS = (".yaml", ".yml")
NOUNS = {
    "printers": "printer profile",
    "filaments": "filament profile",
    "settings": "settings profile",
    "guidelines": "guideline",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Cited:
    """Who names a profile: the file (or "command line") and place to blame if it is wrong.

    Relative paths start from `folder`. `suggest` is whether to look for the nearest file.
    """

    file: str = "command line"
    place: str = ""
    line: int | None = None
    folder: Path = Path()
    suggest: bool = True

    @classmethod
    def option(cls, name: str) -> Cited:
        """Return the citation of an option of the command line, such as "--settings"."""
        return cls(place=name)

    def error(self, *, found: str, expected: str, remedy: str) -> InputError:
        """Return the refusal that points at the citation."""
        return input_error(
            self.file,
            place=self.place,
            line=self.line,
            found=found,
            expected=expected,
            remedy=remedy,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer(Generic[F]):
    """One profile of a chain of bases: its name, and the file as read and checked."""

    name: str
    form: F
    document: Document
    shipped: bool

    def origin(self, place: str) -> str:
        """Return where a value stands: "profile NAME" if shipped, else "file:line"."""
        return f"profile {self.name}" if self.shipped else self.document.where(place)


def shipped_names(kind: str) -> tuple[str, ...]:
    """Names of the shipped profiles of a kind ("printers", "settings", ...), sorted."""
    return tuple(sorted(path.stem for path in (profiles_dir() / kind).glob("*.yaml")))


def chain(kind: str, form: type[F], ref: str, cited: Cited) -> tuple[Layer[F], ...]:
    """Return the profile `ref` and its bases, the root first.

    Raises InputError for an unknown name, a file that is no such profile, or bases that
    lead back to themselves.
    """
    layers: list[Layer[F]] = []
    paths: list[Path] = []
    next_ref: str | None = ref
    while next_ref is not None:
        path = _path_of(kind, next_ref, cited)
        if path.resolve() in paths:
            raise _circle(paths, path.resolve(), cited)
        paths.append(path.resolve())
        layer = _read(form, path)
        layers.insert(0, layer)
        next_ref = getattr(layer.form, "base", None)
        cited = citation(layer.document, "base", path.parent)
    return tuple(layers)


def citation(document: Document, place: str, folder: Path) -> Cited:
    """Return the citation of something named at a place of a document."""
    return Cited(file=document.file, place=place, line=document.line(place), folder=folder)


def is_path(ref: str) -> bool:
    """Tell a path from a name: it has a separator or ends in .yaml."""
    return "/" in ref or "\\" in ref or ref.lower().endswith(ENDINGS)


def _path_of(kind: str, ref: str, cited: Cited) -> Path:
    if is_path(ref):
        return _user_path(kind, ref, cited)
    names = shipped_names(kind)
    if ref not in names:
        raise cited.error(
            found=shown(ref),
            expected=f"the name of a {NOUNS[kind]}, or a path ending in .yaml",
            remedy=suggestion(ref, names),
        )
    return profiles_dir() / kind / f"{ref}.yaml"


def _user_path(kind: str, ref: str, cited: Cited) -> Path:
    path = cited.folder / ref
    why = why_no_file(path)
    if why:
        raise cited.error(
            found=f"{shown(ref)}, {why}",
            expected=f"the path of a {NOUNS[kind]}",
            remedy=remedy_for_missing(path) if cited.suggest and "\0" not in ref else CHECK_PATH,
        )
    return path


def _read(form: type[F], path: Path) -> Layer[F]:
    document = read_yaml(path)
    shipped = path.parent.parent == profiles_dir()
    return Layer(name=path.stem, form=validate(form, document), document=document, shipped=shipped)


def _circle(paths: list[Path], again: Path, cited: Cited) -> InputError:
    circle = [*paths[paths.index(again) :], again]
    return cited.error(
        found=f"bases that run in a circle: {' -> '.join(path.stem for path in circle)}",
        expected="bases that end at a profile without one",
        remedy="remove one of these base: lines",
    )
