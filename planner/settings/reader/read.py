"""A settings file of any dialect, read: the story of this folder on one screen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.errors import printable
from planner.settings.reader import remarks
from planner.settings.reader.forms import entries_of
from planner.settings.reader.lexicon import shipped_lexicon
from planner.settings.reader.match import asked, wrappers_of
from planner.settings.reader.model import Reading, Unclear
from planner.settings.reader.settle import settle
from planner.settings.reader.source import decoded, is_toolpath, looks_like_toolpath, read_content
from planner.settings.reader.verdict import Group, Possible, habits, possible, verdict

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from planner.settings.reader.lexicon import Lexicon
    from planner.settings.reader.model import Entry


def read_foreign(path: Path, lexicon: Lexicon | None = None) -> Reading:
    """Read a settings file of any dialect; raises InputError for what is no such file.

    Of a toolpath, however long, the comment lines near both ends are read. An entry is read
    only if its words say one key of ours and nothing else; the rest is told, never guessed.
    """
    file = printable(str(path))
    if is_toolpath(path):
        with path.open("rb") as stream:
            return _of_toolpath(remarks.entries(stream), lexicon, file)
    return read_text_of(read_content(path), file, lexicon)


def read_text_of(content: bytes, file: str, lexicon: Lexicon | None = None) -> Reading:
    """Read the content of a settings file; `file` is how messages call it. Raises InputError."""
    if looks_like_toolpath(content):
        return _of_toolpath(remarks.entries_in(content), lexicon, file)
    source = decoded(content, file)
    lexicon = lexicon or shipped_lexicon()
    form, entries = entries_of(source.text, file, lexicon.record)
    return understood(entries, lexicon, file=file, form=form, encoding=source.encoding)


def understood(
    entries: Sequence[Entry],
    lexicon: Lexicon,
    *,
    file: str,
    form: str,
    encoding: str = "utf-8",
) -> Reading:
    """Return what entries say in the keys of ours; entries without a value say nothing."""
    wrappers = wrappers_of(entries)
    ready = [asked(entry, wrappers, lexicon) for entry in entries if any(entry.values)]
    choices = [Possible(asked=each, candidates=possible(each, lexicon)) for each in ready]
    shares = habits(choices)
    verdicts = [verdict(choice, shares, lexicon) for choice in choices]
    settled = settle([each.said for each in verdicts if each.said is not None])

    def told(group: Group) -> list[Unclear]:
        return [each.unclear for each in verdicts if each.unclear and each.group is group]

    return Reading(
        file=file,
        form=form,
        encoding=encoding,
        read=dict(sorted(settled.read.items())),
        ambiguous=_by_line([*told(Group.AMBIGUOUS), *settled.ambiguous]),
        suspect=_by_line([*told(Group.SUSPECT), *settled.suspect]),
        suggested=_by_line(told(Group.SUGGESTED)),
        not_understood=tuple(each.entry for each in verdicts if each.group is Group.REST),
    )


def _of_toolpath(entries: Sequence[Entry], lexicon: Lexicon | None, file: str) -> Reading:
    form = "comments of a toolpath"
    return understood(entries, lexicon or shipped_lexicon(), file=file, form=form)


def _by_line(unclear: Sequence[Unclear]) -> tuple[Unclear, ...]:
    return tuple(sorted(unclear, key=lambda each: (each.entry.line, each.entry.place)))
