"""Runs and parts as CSV: shape, quoting, and nothing a spreadsheet would run."""

import csv
import io
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.report.tables import (
    PART_COLUMNS,
    RUN_COLUMNS,
    SHOPPING_COLUMNS,
    parts_csv,
    runs_csv,
    shopping_csv,
    text_cell,
)

from .conftest import make_plan


def rows_of(text):
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_runs_have_one_line_each_in_order(plan):
    """A run's line tells plate, printer, hours and what lies on the plate."""
    rows = rows_of(runs_csv(plan))

    assert [row["plate"] for row in rows] == ["P1", "P2", "P3"]
    assert rows[1]["start"] == "2026-11-28T09:10:00+00:00"
    assert rows[1]["contents"] == "1 key, 2 panel"
    assert float(rows[2]["alone_s"]) == 37800
    assert tuple(rows[0]) == RUN_COLUMNS


def test_parts_have_one_line_per_printer(plan):
    """Three parts timed on two kinds of printer are six lines."""
    rows = rows_of(parts_csv(plan))

    assert len(rows) == 6
    assert tuple(rows[0]) == PART_COLUMNS
    assert rows[0]["to_print"] == "7"
    assert float(rows[0]["time_low_s"]) < float(rows[0]["time_s"]) < float(rows[0]["time_high_s"])


def test_shopping_has_a_line_per_material_and_colour(plan):
    """What is to be bought beside what is not."""
    grey, red = rows_of(shopping_csv(plan))

    assert tuple(grey) == SHOPPING_COLUMNS
    assert (grey["spools"], grey["cost"], grey["without_spool"]) == ("1", "22.0", "P4")
    assert (red["spools"], red["short_g"]) == ("0", "0.0")


def test_what_a_run_costs_stands_in_its_line(plan):
    """Three costs and their sum, in the currency of the job."""
    row = rows_of(runs_csv(plan))[1]

    assert float(row["cost"]) == pytest.approx(2.72 + 0.136 + 0.75)
    assert row["currency"] == "EUR"


@pytest.mark.parametrize("write", [runs_csv, parts_csv, shopping_csv])
def test_lines_end_as_rfc_4180_says(plan, write):
    """RFC 4180 section 2: CRLF after each record, the same number of fields in each."""
    text = write(plan)

    assert text.endswith("\r\n")
    assert "\n" not in text.replace("\r\n", "")
    assert len({len(row) for row in csv.reader(io.StringIO(text, newline=""))}) == 1


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "  =", "\t="])
def test_a_formula_becomes_text(start):
    """A cell that a spreadsheet would run is led by a quote."""
    assert text_cell(f"{start}1+1").startswith("'")


def test_hostile_names_come_back_whole_and_harmless(hostile_plan):
    """Quotes and commas survive the trip; the formula has its guard."""
    names = {row["part"] for row in rows_of(parts_csv(hostile_plan))}

    assert "'=1+1" in names
    assert any(name.startswith("<script>") for name in names)


@given(name=st.text(min_size=1, max_size=30))
def test_no_text_breaks_the_table_or_starts_a_formula(name):
    """Whatever a part is called, the table keeps its columns and no cell starts with = + - @."""
    base = make_plan()
    ready = replace(base.parts[0], part=replace(base.parts[0].part, name=name))

    text = parts_csv(replace(base, parts=(ready,)))

    for row in csv.reader(io.StringIO(text, newline="")):
        assert len(row) == len(PART_COLUMNS)
        assert not row[0].lstrip().startswith(("=", "+", "-", "@"))
