"""What every page shares: the templates' environment, and the style that comes of our colours."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import jinja2
from markupsafe import Markup, escape

from planner.report import words
from planner.report.palette import drawing_rules, variables

_TEMPLATES = Path(__file__).parent / "templates"


@cache
def template(name: str) -> jinja2.Template:
    """Return a template; every text that it shows is escaped and without control characters."""
    environment = jinja2.Environment(
        loader=jinja2.FileSystemLoader(_TEMPLATES),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        finalize=lambda value: words.plain(value) if type(value) is str else value,
    )
    environment.globals.update(thing=words.thing)
    environment.filters.update(
        mass=words.mass,
        share=words.share,
        hours=words.hours,
        hours_range=words.hours_range,
        breakable=breakable,
        clock_hours=words.clock_hours,
        clock_range=words.clock_range,
    )
    return environment.get_template(name)


def style() -> Markup:
    """Return our colours and the rules of our drawings as CSS."""
    return Markup(variables() + drawing_rules())  # noqa: S704 - made of our constants only


def drawn(svg: str) -> Markup:
    """Pass one of our drawings as markup; its texts were escaped where it was drawn."""
    return Markup(svg)  # noqa: S704 - see above


def breakable(name: str) -> Markup:
    """Let a long name break after its underscores, and nowhere else inside a word."""
    safe = str(escape(words.plain(name)))
    return Markup(safe.replace("_", "_<wbr>"))  # noqa: S704 - escaped on the line above
