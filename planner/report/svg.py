"""The little SVG we need: elements with escaped text, numbers without noise."""

from __future__ import annotations

from xml.sax.saxutils import escape, quoteattr

from planner.report.palette import drawing_rules, variables
from planner.report.words import plain

Value = str | float


def fmt(value: float, digits: int = 2) -> str:
    """Write a number without trailing zeros.

    >>> fmt(12.5), fmt(-0.0001), fmt(3)
    ('12.5', '0', '3')
    """
    text = f"{value:.{digits}f}".rstrip("0").rstrip(".")
    return "0" if text in {"-0", ""} else text


def element(tag: str, *children: str, **attributes: Value) -> str:
    """Return an element; `_` in attribute names stands for `-`, a trailing one is dropped.

    Children are markup and are not escaped: wrap words in `words_in`.

    >>> element("rect", x=1.0, class_="bed", stroke_width=0.5)
    '<rect x="1" class="bed" stroke-width="0.5"/>'
    """
    parts = [tag]
    for name, value in attributes.items():
        written = fmt(value) if isinstance(value, (int, float)) else plain(value)
        parts.append(f"{name.rstrip('_').replace('_', '-')}={quoteattr(written)}")
    inside = "".join(children)
    return f"<{' '.join(parts)}>{inside}</{tag}>" if inside else f"<{' '.join(parts)}/>"


def words_in(text: str) -> str:
    """Return text as markup: escaped, and without characters that XML cannot hold."""
    return escape(plain(text))


def label(text: str, **attributes: Value) -> str:
    """Return a text element."""
    return element("text", words_in(text), **attributes)


def title(text: str) -> str:
    """Return the title of an element: read aloud, and shown when the pointer rests on it."""
    return element("title", words_in(text))


def hatching(name: str, css_class: str, spacing: float, line: float) -> str:
    """Return a pattern of slanted lines to fill with as url(#name)."""
    return element(
        "pattern",
        element("line", x1=0, y1=0, x2=0, y2=spacing, class_=css_class, stroke_width=line),
        id=name,
        width=spacing,
        height=spacing,
        patternUnits="userSpaceOnUse",
        patternTransform="rotate(45)",
    )


def picture(
    *children: str, name: str, width: float, height: float, px_width: float, own_style: bool
) -> str:
    """Return a whole picture called `name`; `own_style` makes it stand alone as a file."""
    style = element("style", f"\n{variables()}{drawing_rules()}") if own_style else ""
    return element(
        "svg",
        title(name),
        style,
        *children,
        xmlns="http://www.w3.org/2000/svg",
        role="img",
        aria_label=name,
        viewBox=f"0 0 {fmt(width)} {fmt(height)}",
        width=px_width,
        height=px_width * height / width,
    )
