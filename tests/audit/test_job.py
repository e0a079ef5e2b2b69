"""Findings about a job as a whole, and the cautions of every report."""

from types import MappingProxyType

import pytest

from planner.audit import audit_job, cautions
from planner.job.model import Assembly, Window
from planner.settings.model import Level

STOP, WARN, NOTE = Level.STOP, Level.WARN, Level.NOTE


def told(findings):
    """Return (rule, level) of every finding."""
    return [(finding.rule, finding.level) for finding in findings]


def test_a_sound_job_has_no_findings(build):
    """One mating part, watched printer, enough filament, somebody there."""
    assert audit_job(build.job(), [build.Ready(build.part())]) == ()


class TestUnattended:
    """Printers that run while nobody is there."""

    def test_each_such_machine_is_noted_with_the_fire_officers_words(self, build):
        """The source is named in full, the machine by the user's name."""
        machines = (
            build.machine("b", unattended=True),
            build.machine("a", unattended=True),
            build.machine("c"),
        )
        findings = audit_job(build.job(machines=machines))

        assert told(findings) == [("unattended", NOTE)] * 2
        assert [finding.found.split()[0] for finding in findings] == ["a", "b"]
        assert all("North Dakota State Fire Marshal" in f.source for f in findings)
        assert all("2 June 2025" in finding.source for finding in findings)


class TestSpools:
    """Need against shelf: 5 % are kept in hand, so 950 g of 1000 g may be used."""

    @pytest.mark.parametrize(
        ("need_g", "expected"),
        [
            (950.0, []),
            (951.0, [("spools", NOTE)]),
            (1000.0, [("spools", NOTE)]),
            (1001.0, [("spools", WARN)]),
        ],
    )
    def test_one_material(self, build, need_g, expected):
        """Short is a warning, little to spare a note."""
        findings = audit_job(build.job(), [build.Ready(build.part(), grams=need_g)])

        assert told(findings) == expected

    def test_copies_count(self, build):
        """Grams are per copy."""
        ready = [build.Ready(build.part(), grams=101.0, to_print=10)]
        (finding,) = audit_job(build.job(), ready)

        assert finding.found == "1000 g of pla in all colours for a need of 1010 g: 10 g short"
        assert finding.expected == "at least 1063 g, 5 % kept in hand"
        assert "at least 63 g of pla" in finding.remedy

    @pytest.mark.parametrize(
        ("grey", "black", "either", "short"),
        [
            (400.0, 400.0, 700.0, []),
            (501.0, 0.0, 0.0, ["pla, grey"]),
            (0.0, 501.0, 0.0, ["pla, black"]),
            (501.0, 501.0, 0.0, ["pla, black", "pla, grey"]),
            (400.0, 400.0, 900.0, ["pla in all colours"]),
        ],
    )
    def test_colours_are_held_apart_and_parts_of_any_colour_take_the_rest(
        self, build, grey, black, either, short
    ):
        """Shelf: 500 g grey, 500 g Black, 600 g white."""
        spools = tuple(
            build.spool(colour, colour, left)
            for colour, left in (("grey", 500), ("Black", 500), ("white", 600))
        )
        parts = (
            build.part("a", colour="Grey"),
            build.part("b", colour="black"),
            build.part("c"),
        )
        ready = [
            build.Ready(part, grams=grams)
            for part, grams in zip(parts, (grey, black, either), strict=True)
        ]
        findings = audit_job(build.job(*parts, spools=spools), ready)

        warned = [f.found.split(" of ", 1)[1].split(" for ")[0] for f in findings]
        assert [f.level for f in findings] == [WARN] * len(short)
        assert warned == short

    def test_two_spools_of_one_colour_add_up(self, build):
        """Twice 600 g are enough for 1100 g."""
        spools = (build.spool("1", left_g=600), build.spool("2", left_g=600))
        part = build.part(colour="grey")

        assert audit_job(build.job(part, spools=spools), [build.Ready(part, grams=1100)]) == ()

    def test_no_spool_of_a_material_is_a_stop(self, build):
        """Other materials do not help; parts that need no print do not matter."""
        petg = build.part("jar", settings=build.settings(material="petg"))
        job = build.job(build.part(), petg)

        (finding,) = audit_job(job, [build.Ready(petg, grams=30)])
        assert (finding.rule, finding.level) == ("spools", STOP)
        assert finding.found == "no spool of petg"
        assert audit_job(job, [build.Ready(petg, grams=30, to_print=0)]) == ()


class TestHours:
    """Start Friday 18:00; one crew until 22:00."""

    def crew(self, build, start, end):
        """Return a window of hours on the 27th."""
        return Window(
            who="crew", start=build.at(27, start), end=build.at(27, end), where="job.yaml:99"
        )

    @pytest.mark.parametrize(
        ("hours", "expected"),
        [
            ([], [("attendance", STOP)]),
            ([(10, 18)], [("attendance", STOP)]),
            ([(10, 19)], []),
            ([(10, 12), (18, 22)], [("attendance", NOTE)]),
        ],
    )
    def test_somebody_must_be_there_after_the_start(self, build, hours, expected):
        """A window that ends as the job starts is over."""
        windows = tuple(self.crew(build, *each) for each in hours)

        assert told(audit_job(build.job(attendance=windows))) == expected

    @pytest.mark.parametrize(
        ("deadline", "seconds", "expected"),
        [
            (None, 1e9, []),
            ((27, 20), 7200, []),
            ((27, 20), 7201, [("deadline", WARN)]),
            ((27, 18), 0, [("deadline", WARN)]),
        ],
    )
    def test_a_deadline_that_no_plan_can_keep(self, build, deadline, seconds, expected):
        """Two hours on one machine are 7200 s of printing; at 18:00 nobody has come yet."""
        when = None if deadline is None else build.at(*deadline)
        ready = [build.Ready(build.part(), seconds=seconds)]

        assert told(audit_job(build.job(deadline=when), ready)) == expected

    def test_two_machines_have_twice_the_hours(self, build):
        """The bound is the sum of printing over all machines."""
        machines = (build.machine("a"), build.machine("b"))
        ready = [build.Ready(build.part(), seconds=3600, to_print=4)]
        job = build.job(deadline=build.at(27, 20), machines=machines)

        assert audit_job(job, ready) == ()
        assert told(audit_job(job, [*ready, build.Ready(build.part("b"), grams=0, seconds=1)])) == [
            ("deadline", WARN)
        ]


class TestCare:
    """Filaments, walls, fit."""

    def test_the_caution_of_a_filament_in_use_is_noted(self, build):
        """Not that of one that only lies on the shelf."""
        abs_ = build.filament(name="abs", material="abs", caution="strong fumes")
        filaments = MappingProxyType({"pla": build.filament(caution="mild."), "abs": abs_})
        (finding,) = audit_job(build.job(filaments=filaments))

        assert finding.found == "pla: mild"
        assert "2904" in finding.source
        assert "27548" in finding.source

    @pytest.mark.parametrize("tag", ["wall", "overhead", "ceiling", "fixing", None])
    def test_what_hangs_or_carries_is_noted_once_for_the_job(self, build, tag):
        """By tag or by load; the anchor maker, codes and licensed practice come first."""
        part = build.part(tags=(tag,)) if tag else build.part(loads=(build.load(),))
        (finding,) = audit_job(build.job(part, build.part("other", tags=("bin",))))

        assert (finding.rule, finding.level) == ("wall fixing", NOTE)
        assert finding.found.endswith(": hook")
        for word in ("anchor maker", "local codes", "licensed practice"):
            assert word in finding.remedy

    def test_a_batch_without_first_article_is_noted(self, build):
        """Unless nothing is wanted at all."""
        loose = build.part(mating=False)
        bay = Assembly(
            name="bay",
            quantity=1,
            stock=0,
            contains=MappingProxyType({"hook": 6}),
            where="job.yaml:80",
        )
        none = build.part(mating=False, quantity=0)

        assert told(audit_job(build.job(loose))) == [("first article", NOTE)]
        assert told(audit_job(build.job(none, assemblies={"bay": bay}))) == [
            ("first article", NOTE)
        ]
        assert audit_job(build.job(none)) == ()
        assert audit_job(build.job(loose, build.part("coupon"))) == ()


class TestCautions:
    """Short sentences for every report."""

    def test_every_job_has_them(self, build):
        """Loads, drilling, fire, fumes, and that nothing was compared with a print."""
        text = " ".join(cautions(build.job()))

        for word in ("Loads:", "Drilling:", "Fire:", "Fumes:", "not compared with a physical"):
            assert word in text
        for word in ("local codes", "licensed practice", "(pla)"):
            assert word in text
        assert "Creep:" not in text
        assert "This job lets" not in text

    def test_machines_that_run_alone_are_named(self, build):
        """In the user's words."""
        job = build.job(machines=(build.machine("cupboard", unattended=True), build.machine()))

        assert any("lets cupboard run while nobody" in caution for caution in cautions(job))

    @pytest.mark.parametrize(
        ("material", "sustained", "count"), [("pla", True, 1), ("pla", False, 0), ("petg", True, 0)]
    )
    def test_creep_is_spoken_of_where_it_matters(self, build, material, sustained, count):
        """PLA under a steady load."""
        part = build.part(
            settings=build.settings(material=material), loads=(build.load(sustained=sustained),)
        )

        assert sum("Creep: hook" in each for each in cautions(build.job(part))) == count
