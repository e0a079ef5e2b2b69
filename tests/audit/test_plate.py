"""A plate as it will be printed: shared settings, room for the lift, time to set."""

from dataclasses import dataclass

import pytest

from planner.audit.plate import audit_plate
from planner.settings.model import Level


@dataclass
class Laid:
    """What the audit looks at of a part on a plate."""

    part: object
    filament: object
    posed: object
    layering: object
    times: object


def laid(build, name="hook", seconds=60.0, layers=3, size=(60, 40, 20), **settings):
    return Laid(
        part=build.part(name, settings=build.settings(**settings)),
        filament=build.filament(),
        posed=build.posed(size),
        layering=build.layering(layers=layers),
        times=build.times(seconds, layers),
    )


def told(build, *parts, **printer):
    findings = audit_plate("P3", build.printer(**printer), parts)
    return [(f.rule, f.level, f.part, f.found) for f in findings]


def test_a_sound_plate_has_no_findings(build):
    """The zero of all below."""
    assert told(build, (laid(build), 2), (laid(build, "key"), 1)) == []


def test_what_a_plate_must_share_is_told_with_who_wants_what(build):
    """One fan cools all parts."""
    parts = [(laid(build, name, fan=fan), 1) for name, fan in (("a", 1), ("b", 0.4), ("c", 0.4))]

    assert told(build, *parts) == [
        ("plate settings", Level.NOTE, "", "fan: 100 % for a; 40 % for b and c")
    ]


def test_walls_may_differ_from_part_to_part(build):
    """They belong to the part, not to the machine."""
    assert told(build, (laid(build, walls=3), 1), (laid(build, "key", walls=5), 1)) == []


@pytest.mark.parametrize(("high", "lift", "short"), [(249, 1, 0), (249, 1.5, 1), (250, 0, 0)])
def test_this_printer_must_have_room_for_the_lift(build, high, lift, short):
    """Another one of the job may be taller, but the plate lies here."""
    findings = told(build, (laid(build, size=(60, 60, high), lift_mm=lift), 1))

    assert [rule for rule, *_ in findings] == ["head room"] * short


class TestLayerTime:
    """A layer of the sound settings sets in 5.7 s; less than 2.85 s is told."""

    def rules(self, build, *parts, **printer):
        """Return who is told of."""
        return [part for rule, _, part, _ in told(build, *parts, **printer) if rule == "layer time"]

    def small(self, build, name="hook", **changes):
        """Return a part of 2 s per layer whose settings do not wait."""
        return laid(build, name, seconds=2.0, layer_time_min_s=0, **changes)

    def test_copies_and_other_parts_give_time_to_cool(self, build):
        """2 s alone, 4 s for two copies, 3 s with another part of 1 s."""
        other = laid(build, "other", seconds=1.0, layer_time_min_s=0)

        assert self.rules(build, (self.small(build), 1)) == ["hook"]
        assert self.rules(build, (self.small(build), 2)) == []
        assert self.rules(build, (self.small(build), 1), (other, 1)) == []

    def test_not_above_the_top_of_a_lower_part(self, build):
        """Three layers are shared, five are the tall one's alone."""
        low = laid(build, "low", layers=3, layer_time_min_s=0)
        tall = self.small(build, layers=8)
        findings = told(build, (tall, 1), (low, 1))

        assert [(rule, part) for rule, _, part, _ in findings] == [("layer time", "hook")]
        assert findings[0][3].startswith("5.0 mm of its height in layers of less than 2.8 s")

    def test_one_after_the_other_nothing_is_shared(self, build):
        """Then each part cools by itself."""
        assert self.rules(build, (self.small(build), 2), one_by_one=True) == ["hook"]

    def test_the_settings_may_wait(self, build):
        """Their least time per layer counts."""
        assert self.rules(build, (laid(build, seconds=2.0, layer_time_min_s=3), 1)) == []
