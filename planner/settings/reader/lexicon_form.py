"""The lexicon file as people write it: words, keys, values; nothing else."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from planner.document import Form, Words

Said = Annotated[
    str,
    Field(min_length=1, max_length=100),
    Words(expected="a word", remedy='put it in quotes if it reads as something else: "true"'),
]
Group = Annotated[tuple[Said, ...], Field(max_length=2000)]
Quantity = Literal[
    "length",
    "temperature",
    "share",
    "speed",
    "acceleration",
    "flow",
    "time",
    "angle",
    "count",
    "switch",
    "pattern",
    "section",
    "material",
]


class MeaningForm(Form):
    """How a key of ours may be said."""

    needs: Annotated[Group, Field(min_length=1)] = Field(
        description="Ways to say it; every word of one way must be said, a|b is either."
    )
    helps: Group = Field((), description="Words that strengthen it.")
    tolerates: Group = Field((), description="Words that change nothing.")
    quantity: Quantity = Field(description="What its value measures.")
    range: tuple[float, float] | None = Field(None, description="What can be meant at all.")
    share_of: Said | None = Field(None, description="Key that a value in per cent is a share of.")
    becomes: Group = Field((), description="Keys that it is counted into.")


class UnclearForm(MeaningForm):
    """What is said too vaguely to be read."""

    between: Annotated[Group, Field(min_length=1)] = Field(description="The keys it may be.")


class RecordForm(Form):
    """How the fields of a record are called."""

    name: Group = ()
    value: Group = ()
    unit: Group = ()


class ValuesForm(Form):
    """Words that values are made of."""

    yes: Group = ()
    no: Group = ()
    section: dict[Said, Group] = Field({})
    pattern: dict[Said, Group] = Field({})
    material: dict[Said, Group] = Field({})


class LexiconFile(Form):
    """A lexicon: the shipped one, or the user's own that adds to it."""

    form: Literal["platewright/lexicon/1"] = Field(
        alias="schema", description="Write platewright/lexicon/1."
    )
    words: dict[Said, Group] = Field({}, description="Meaning -> words for it.")
    owners: Group = Field((), description="Meanings that make a key something else.")
    free: Group = Field((), description="Meanings that change nothing anywhere.")
    headings: Group = Field((), description="Meanings that change nothing in a section's name.")
    keys: dict[Said, MeaningForm] = Field({}, description="Key of ours -> how it may be said.")
    unclear: tuple[UnclearForm, ...] = Field((), description="What is too vague.")
    values: ValuesForm = Field(ValuesForm())
    record: RecordForm = Field(RecordForm())
    aliases: dict[Said, Said] = Field({}, description="A whole key, as written -> key of ours.")
