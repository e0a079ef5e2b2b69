"""What every finding owes its reader, whichever rule it comes from."""

import re
from dataclasses import fields
from types import MappingProxyType

import pytest

from planner.audit import audit_job, audit_part, audit_physics
from planner.audit.excuse import EXCUSABLE, FACTS
from planner.job.model import Window
from planner.settings.model import Rectangle, Settings
from planner.solid.model import Repair

SETTINGS = {field.name for field in fields(Settings)}
JOB_RULES = {
    "attendance",
    "deadline",
    "first article",
    "filament caution",
    "spools",
    "unattended",
    "wall fixing",
}

OF_STRESSES = {"strength under load", "fixings"}
"""Worked out by another stage; excepted like rules of the audit."""


def gallery(build):
    """Yield findings of parts and jobs that are wrong in every way there is a rule for."""
    for changes in (
        {"layer_mm": 0.5, "first_layer_mm": 0.45, "line_width_mm": 0.3, "walls": 0, "speed": 200},
        {"layer_mm": 0.05, "first_layer_mm": 0.04, "line_width_mm": 0.9, "infill": 0.0},
        {"nozzle_c": 300, "bed_c": 5, "top_layers": 0, "bottom_layers": 1, "brim_mm": 0.1},
        {"infill": 1.0, "infill_pattern": "grid", "material": "petg", "support": True},
        {"layer_time_min_s": 1, "lift_mm": 11, "fan": 0.1},
    ):
        yield from parts_of(build, build.settings(**changes))
    yield from audit_physics(build.settings(fan=0.2), build.filament(needs_enclosure=True))
    yield from jobs_of(build)


def parts_of(build, settings):
    """Yield the findings of one badly set, badly shaped and badly loaded part."""
    repairs = tuple(
        Repair(kind=kind, text="1 edge") for kind in ("scale", "inside-out", "open surface", "odd")
    )
    part = build.part(
        settings=settings,
        unit=None,
        up_declared=False,
        loads=(build.load(sustained=True),),
        exceptions=MappingProxyType({"fan": "quiet", "fann": "quiet"}),
    )
    spot = Rectangle(x_min_mm=0, y_min_mm=90, x_max_mm=220, y_max_mm=110)
    for size, crossing in (((300, 100, 240), 0.9), ((200, 150, 240), 0.1)):
        yield from audit_part(
            part,
            posed=build.posed(
                size,
                contact_mm2=2,
                tip_deg=1,
                ceilings=[] if settings.support else [(5, 5, crossing * 20, 20)],
                repairs=repairs,
                invented=0.01,
            ),
            layering=build.layering(0.3),
            filament=build.filament(),
            guideline=build.guideline(
                build.rule("walls", at_least=99), build.rule("bed_c", usual_of_material=True)
            ),
            machines=(build.machine(keep_out=(spot,), flow_max_mm3_s=1),),
            pulls=(build.pull(crossing),),
            times=build.times(1.0),
        )


def jobs_of(build):
    """Yield the findings of jobs that nobody can do."""
    part = build.part(mating=False, tags=("wall",))
    window = Window(who="crew", start=build.at(27, 10), end=build.at(27, 12))
    late = build.job(
        part,
        machines=(build.machine(unattended=True),),
        deadline=build.at(27, 19),
        filaments=MappingProxyType({"pla": build.filament(caution="mild")}),
    )
    yield from audit_job(late, [build.Ready(part, grams=2000, seconds=1e6)])
    yield from audit_job(build.job(part, spools=()), [build.Ready(part)])
    yield from audit_job(build.job(part, attendance=(window,)))


@pytest.fixture(scope="module")
def findings(build):
    return list(gallery(build))


def test_the_gallery_breaks_every_rule_and_every_rule_has_its_name_in_the_list(findings):
    """A rule added without its name could not be excepted; a name without rule is a promise."""
    told = {finding.rule for finding in findings}
    named = {rule for rule in EXCUSABLE if rule not in SETTINGS} | FACTS

    assert told - SETTINGS - {"exception"} == (named | JOB_RULES) - OF_STRESSES


def test_every_finding_has_all_its_words(findings):
    """No field is empty but the part of a finding about the job or a file alone."""
    for finding in findings:
        for field in ("rule", "found", "expected", "why", "remedy", "source"):
            text = getattr(finding, field)
            assert text.strip() == text != "", (finding.rule, field)
            assert "  " not in text, (finding.rule, field)


def test_no_finding_shows_the_program_instead_of_the_thing(findings):
    """None, reprs, raw floats and stray f-string braces are ours to keep out."""
    for finding in findings:
        for text in (finding.found, finding.expected, finding.why, finding.remedy):
            assert not re.search(r"None|Level\.|Feature\.|\d\.\d{5}|nan|\binf\b|<", text), text
            assert text.count("{") == text.count("}")


def test_every_finding_of_a_part_names_it(findings):
    """A reader of twenty parts must know which."""
    about_jobs = JOB_RULES | {"enclosure"}
    assert all(bool(f.part) is (f.rule not in about_jobs) for f in findings)
    assert all(f.where for f in findings if f.rule != "enclosure")
