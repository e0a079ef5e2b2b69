"""The page: complete, well-formed, self-contained, and deaf to code in names."""

import re
from dataclasses import replace
from html.parser import HTMLParser

import pytest

from planner.report.findings import counts
from planner.report.html import plan_html

from .conftest import HOSTILE, make_plan

VOID = {"wbr", "meta", "link", "br", "hr", "img", "input"}


class Page(HTMLParser):
    """Collects tags and text, and insists that what opens closes."""

    def __init__(self, text):
        super().__init__(convert_charrefs=True)
        self.open, self.tags, self.words, self.attributes = [], [], [], []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):
        """Remember the element until it closes."""
        self.tags.append(tag)
        self.attributes += [(tag, name, value) for name, value in attrs]
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        """Take note of an element without content."""
        self.tags.append(tag)
        self.attributes += [(tag, name, value) for name, value in attrs]

    def handle_endtag(self, tag):
        """Insist that it is the innermost open one."""
        assert self.open.pop() == tag

    def handle_data(self, data):
        """Keep the words."""
        self.words.append(data)

    @property
    def text(self):
        """All words on one line."""
        return " ".join(" ".join(self.words).split())


@pytest.fixture(scope="module")
def page(plan):
    """Return the parsed page of the ordinary plan."""
    return Page(plan_html(plan))


def test_everything_that_opens_closes(page):
    """The page and its drawings are properly nested."""
    assert page.open == []


def test_findings_come_first_and_the_gravest_leads(page):
    """Order of the sections, and of stop, warn and note within the first."""
    ids = [value for tag, name, value in page.attributes if (tag, name) == ("section", "id")]
    levels = [v for _, n, v in page.attributes if n == "class" and "finding " in v]

    expected = "findings visits timeline plates parts spools shopping totals cautions numbers"
    assert ids == expected.split()
    # The first points at what could not be planned, then three stops and one of each other.
    assert levels == ["finding stop"] * 4 + ["finding warn", "finding note"]


def test_what_is_left_over_is_told_once(page):
    """One line points at the findings; they say what is left over and why."""
    assert "not planned 3 copies on no plate, 1 plate not scheduled: see" in page.text
    assert page.text.count("crate on no plate") == page.text.count("no attended hour") == 1


def test_the_same_of_several_parts_is_one_card(plan):
    """Equal rule, found and expected: one card that names the parts and their places."""
    walls = plan.findings[0]
    both = (walls, replace(walls, part="key", where="job.yaml:30"))

    text = Page(plan_html(replace(plan, findings=both))).text

    assert "warn key and panel: walls" in text
    assert "job.yaml:20, job.yaml:30. Source: common practice" in text
    assert text.count("Do: ") == 1


def test_a_card_says_its_printer_as_every_report_does(page):
    """By the name on the printer, and by its profile; a plate without a run says where it could."""
    assert page.text.count("batch, printer cupboard (enclosed_300)") == 2
    assert "first article, printer bench left (open_frame_220)" in page.text


def test_slower_printers_are_folded_away(page):
    """The quickest printer of each part in the open, the other in a fold."""
    assert (
        len(re.findall(r"enclosed_300 1 other [\d:]+ \([\d:-]+\) open_frame_220", page.text)) == 3
    )


def test_long_names_break_after_an_underscore_only(plan):
    """A phone must not cut a name in the middle of a word."""
    named = replace(plan.parts[0], part=replace(plan.parts[0].part, name="tool<_wall_rack"))

    text = plan_html(replace(plan, parts=(named, *plan.parts[1:]), plates=()))

    assert "tool&lt;_<wbr>wall_<wbr>rack</th>" in text


def test_paper_shows_what_the_screen_folds_away(plan):
    """Rules that only a print-out can prove are at least there; no heading stands alone."""
    text = plan_html(plan)
    paper = text[text.index("@media print{\n@page") :]

    assert "details::details-content{content-visibility:visible" in paper
    assert "h2,h3,caption,dt,summary{break-after:avoid}" in paper
    assert "repeat(2,minmax(0,1fr))" in paper


def test_page_says_what_the_plan_says(page):
    """One telling fact from every part of the plan."""
    for said in (
        "cupboard: start P3 with grey 1 (change the spool)",
        "3 crate on no plate: no bed is free",
        "plate P4: no attended hour",
        "22 h 34 min to 34 h 31 min",
        "no packing needs fewer than 3 (area)",
        "Sat 28 Nov, 12:10 (longest plate)",
        "12.66 EUR wear of cupboard not counted",
        "filament, electricity and wear",
        "PLA, grey 1.49 kg 1.47 kg to 1.52 kg 1.22 kg 274 g 1 spool of 1000 g 22.00 EUR",
        "PLA, grey: needed for P4.",
        "A new spool is taken to hold 1000 g (common practice, no source",
        "P2 2.72 0.14 0.75 3.61",
        "31 % of the bed covered, 3.61 EUR",
        "Only after P1 is checked for fit.",
        "PLA creeps under lasting load.",
        "1 triangle is missing",
        "acceleration is a guess",
        "93 %",
    ):
        assert said in page.text, said


def test_page_tells_each_doubt_once(page):
    """Three parts on two printers, at 50 and 80 mm/s, share one line with the widest range."""
    assert page.text.count("corners: -8 % to +9 %") == page.text.count("corners") == 1
    assert "melt" not in page.text


def test_page_counts_in_the_right_number(plan):
    """One is not many, in nouns and in verbs."""
    gate = replace(plan.plates[1], gate=("P1", "F2"))
    few = replace(
        plan,
        job=replace(plan.job, machines=plan.job.machines[:1]),
        plates=(plan.plates[0], gate),
        totals=replace(plan.totals, copies=1, plates=1),
        plate_bounds=(replace(plan.plate_bounds[0], plates=1),),
        weekend=replace(plan.weekend, runs=plan.weekend.runs[:1]),
    )

    text = Page(plan_html(few)).text

    assert "1 plate 1 copy on 1 printer " in text
    assert "Only after P1, F2 are checked for fit." in text
    assert "PLA, grey: 1 plate; no packing" in text


def test_page_needs_no_network_and_no_script(plan):
    """No address is fetched, no script, handler or form; a policy in the page forbids them."""
    text = plan_html(plan)
    page = Page(text)

    assert not {"script", "link", "iframe", "object", "form", "base"} & set(page.tags)
    fetched = {
        value for tag, name, value in page.attributes if name in {"src", "href", "xlink:href"}
    }
    assert all(value.startswith("#") for value in fetched)
    assert not [name for _, name, _ in page.attributes if name.startswith("on")]
    addresses = set(re.findall(r"https?://[^\s\"'<>)]+", text))
    assert addresses == {"http://www.w3.org/2000/svg"}  # the name of a language, not fetched
    assert "default-src 'none'" in text


def test_references_inside_the_page_exist_once(page):
    """Ids are unique; links, labels and `use` find their target."""
    ids = [value for _, name, value in page.attributes if name == "id"]
    assert len(ids) == len(set(ids))
    targets = [value[1:] for _, name, value in page.attributes if name == "href"]
    labels = [value for _, name, value in page.attributes if name == "aria-labelledby"]
    assert set(targets + labels) <= set(ids)


def test_drawings_and_tables_speak_to_those_who_do_not_see(page):
    """Each drawing has a name, each column and row head its scope."""
    drawings = [v for t, n, v in page.attributes if (t, n) == ("svg", "aria-label")]
    assert len(drawings) == page.tags.count("svg") == 8  # 4 plates, the timeline, its 3 days
    assert page.tags.count("th") == sum(
        1 for tag, name, _ in page.attributes if (tag, name) == ("th", "scope")
    )
    assert ("html", "lang", "en") in page.attributes


def test_page_is_ready_for_phone_dark_and_paper(plan):
    """The style sheet speaks to each; the viewport is that of the device."""
    text = plan_html(plan)

    for said in ("width=device-width", "prefers-color-scheme:dark", "@media print", "@page"):
        assert said in text


def test_hostile_names_do_not_become_elements(hostile_plan):
    """Mark-up in a part's name is shown, not obeyed; escape sequences are gone."""
    text = plan_html(hostile_plan)
    page = Page(text)

    assert "script" not in page.tags
    assert page.open == []
    assert "\x1b" not in text
    assert HOSTILE.replace("\x1b", "\ufffd") in page.text


@pytest.mark.parametrize(
    "evil", ["</style><script>x</script>", "--><b>", "{{ 7*7 }}", "]]>", "'\""]
)
def test_every_text_of_the_user_is_escaped(plan, evil):
    """Job, printer, spool, who, finding, caution, note: none of them opens an element."""
    from types import MappingProxyType

    job = replace(
        plan.job,
        name=evil,
        machines=tuple(replace(m, name=m.name + evil) for m in plan.job.machines),
        spools=tuple(replace(s, name=evil) for s in plan.job.spools),
        attendance=tuple(replace(w, who=evil) for w in plan.job.attendance),
        notes=MappingProxyType({evil: evil}),
    )
    weekend = replace(
        plan.weekend,
        runs=tuple(replace(r, machine=r.machine + evil, spool=evil) for r in plan.weekend.runs),
        visits=tuple(replace(v, who=evil, machine=evil) for v in plan.weekend.visits),
        unscheduled=((evil, evil),),
    )
    findings = tuple(
        replace(f, rule=evil, part=evil, found=evil, why=evil, remedy=evil) for f in plan.findings
    )
    hurt = replace(
        plan,
        job=job,
        weekend=weekend,
        findings=findings,
        cautions=(evil,),
        left_out=((evil, 1, evil),),
    )

    page, plain_page = Page(plan_html(hurt)), Page(plan_html(plan))

    assert page.open == []
    assert "script" not in page.tags
    assert page.tags.count("b") - plain_page.tags.count("b") <= 1  # the note's own key
    assert evil in page.text


def test_an_empty_weekend_is_told(plan):
    """No plates, runs, visits, findings or cautions: every section says so in words."""
    weekend = replace(
        plan.weekend,
        runs=(),
        visits=(),
        unscheduled=(),
        finish=None,
        lower_bound=None,
        spool_left_g=(),
    )
    empty = replace(
        plan, weekend=weekend, plates=(), plate_bounds=(), findings=(), cautions=(), left_out=()
    )

    page = Page(plan_html(empty))

    assert "Nothing was found that breaks the guideline." in page.text
    assert "There are no plates." in page.text
    assert "no plate could be scheduled" in page.text


def test_same_plan_gives_the_same_page():
    """Byte for byte."""
    assert plan_html(make_plan()) == plan_html(make_plan())


def test_notes_are_counted_as_on_the_terminal(plan):
    """Three notes told in one card are three notes, here and there."""
    note = plan.findings[2]
    notes = tuple(replace(note, part=name) for name in ("panel", "key", "crate"))
    page = Page(plan_html(replace(plan, findings=notes)))

    assert "3 notes for your information, what says the same told once" in page.text
    assert counts(notes) == "0 stop, 0 warn, 3 note"


def test_visits_can_be_ticked(plan):
    """A box that the browser knows, with a name for those who hear the page."""
    page = Page(plan_html(plan))
    boxes = [v for t, n, v in page.attributes if (t, n) == ("input", "aria-label")]

    assert len(boxes) == len(plan.weekend.visits)
    assert boxes[0] == "done: 18:05, bench left: start P1 with grey 1"


def test_a_plan_without_costs_or_shopping_leaves_them_out(plan):
    """Nothing worked out, nothing shown: no empty table."""
    totals = replace(plan.totals, wear_cost=0.0, wear_unknown=())
    page = Page(plan_html(replace(plan, costs=(), shopping=(), totals=totals)))

    assert "Cost of each plate" not in page.text
    assert "shopping" not in [v for t, n, v in page.attributes if (t, n) == ("section", "id")]
    assert "filament and electricity" in page.text
