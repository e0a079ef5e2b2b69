"""How fast a layer sets, against closed forms; and air where it helps or harms."""

from dataclasses import replace
from types import MappingProxyType

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from planner.audit import audit_part, audit_physics
from planner.audit.rules.cooling import setting_s
from planner.settings.model import Level

WARN, NOTE = Level.WARN, Level.NOTE


def told(findings, rule):
    return [finding for finding in findings if finding.rule == rule]


def audit(build, settings, **changes):
    values = {
        "part": build.part(settings=settings),
        "posed": build.posed(),
        "layering": build.layering(layers=3),
        "filament": build.filament(),
        "guideline": build.guideline(),
        "machines": (build.machine(),),
    }
    part = changes.pop("part", values["part"])
    return audit_part(part, **{k: v for k, v in (values | changes).items() if k != "part"})


class TestTime:
    """Lumped heat balance: rho c h dT/dt = -alpha (T - T_room)."""

    @pytest.mark.parametrize(
        ("fan", "layer", "seconds"),
        [
            # tau = 1240 x 1500 x 0.0002 / (25 + 75) = 3.72 s; ln(185 / 40) = 1.53148
            (1.0, 0.2, 5.6971),
            # still air: a quarter of the transfer, four times the time
            (0.0, 0.2, 22.7884),
            # twice the layer, twice the time
            (1.0, 0.4, 11.3942),
        ],
    )
    def test_by_hand(self, build, fan, layer, seconds):
        """From 205 to 60 degrees in a room of 20."""
        settings = build.settings(fan=fan, layer_mm=layer)

        assert setting_s(settings, build.filament()) == pytest.approx(seconds, abs=1e-3)

    def test_against_an_integrator(self, build):
        """Validation: scipy integrates the same balance step by step."""
        settings, filament = (
            build.settings(fan=0.4, nozzle_c=240),
            build.filament(glass_transition_c=80, density_g_cm3=1.27),
        )
        rate = (25 + 75 * 0.4) / (1270 * 1500 * 0.0002)

        def reached(_time, heat):
            return heat[0] - 80

        reached.terminal = True
        done = solve_ivp(
            lambda _time, heat: -rate * (heat - 20),
            (0, 100),
            [240.0],
            events=reached,
            rtol=1e-10,
            atol=1e-10,
        )

        assert setting_s(settings, filament) == pytest.approx(done.t_events[0][0], rel=1e-6)

    @pytest.mark.parametrize("change", [{"glass_transition_c": -35}, {"glass_transition_c": 210}])
    def test_nothing_is_said_where_the_balance_does_not_tell(self, build, change):
        """Rubbers set otherwise, and below its glass transition nothing is molten."""
        assert setting_s(build.settings(), build.filament(**change)) == 0


class TestLayerTime:
    """Sound settings need 5.7 s; less than half of that is told, 2.85 s."""

    def test_a_file_alone_is_noted(self, build):
        """No part is known, so it may not matter."""
        quick, slow = (build.settings(layer_time_min_s=seconds) for seconds in (2.84, 2.85))
        (finding,) = audit_physics(quick, build.filament())

        assert (finding.rule, finding.level) == ("layer time", NOTE)
        assert finding.remedy == "set layer_time_min_s: 6 in sturdy"
        assert audit_physics(slow, build.filament()) == ()

    @pytest.mark.parametrize(
        ("least", "seconds", "layers", "found"),
        [
            (1, 2.0, 3, "3.0 mm of its height in layers of 2.0 to 2.0 s, alone on a plate"),
            (2.5, 2.0, 3, "3.0 mm of its height in layers of 2.5 to 2.5 s, alone on a plate"),
            (1, 3.0, 3, None),  # the layers are large enough to set by themselves
            (3, 2.0, 3, None),  # the settings wait long enough
            (1, 2.0, 0, None),
        ],
    )
    def test_a_part_is_warned_of_if_its_own_layers_are_small(
        self, build, least, seconds, layers, found
    ):
        """The longer of the layer's own time and the least time counts."""
        settings = build.settings(layer_time_min_s=least)
        layering = build.layering(layers=layers)
        times = build.times(seconds, layers)
        findings = told(audit(build, settings, layering=layering, times=times), "layer time")

        assert [(f.level, f.found) for f in findings] == ([(WARN, found)] if found else [])

    def test_a_tip_of_less_than_a_millimetre_is_let_be(self, build):
        """Four layers of 0.2 mm are 0.8 mm."""
        settings = build.settings(layer_time_min_s=0)
        thin = replace(build.layering(layers=4), height_mm=np.full(4, 0.2))
        assert not told(
            audit(build, settings, layering=thin, times=build.times(1, 4)), "layer time"
        )
        six = replace(build.layering(layers=6), height_mm=np.full(6, 0.2))
        assert told(audit(build, settings, layering=six, times=build.times(1, 6)), "layer time")

    def test_the_quickest_printer_counts(self, build):
        """Whoever prints it, it may be that one."""
        settings = build.settings(layer_time_min_s=0)
        slow, quick = build.times(9, 3)["open_220"], build.times(2, 3)["open_220"]
        times = MappingProxyType({"a": slow, "b": quick})

        (finding,) = told(audit(build, settings, times=times), "layer time")
        assert "2.0 to 2.0 s" in finding.found

    def test_a_reason_excuses_it(self, build):
        """As any other rule of physics."""
        settings = build.settings(layer_time_min_s=0)
        part = build.part(settings=settings, exceptions=MappingProxyType({"layer time": "tall"}))
        findings = audit(build, settings, part=part, times=build.times(1, 3))

        assert [f.level for f in told(findings, "layer time")] == [NOTE]


class TestAir:
    """Moving air under overhangs, and none on what splits in it."""

    @pytest.mark.parametrize(
        ("fan", "warps", "expected"), [(0.5, True, 0), (0.51, True, 1), (1.0, False, 0)]
    )
    def test_on_what_wants_an_enclosure(self, build, fan, warps, expected):
        """Half the fan is the most."""
        warm = build.filament(needs_enclosure=warps)
        findings = audit_physics(build.settings(fan=fan), warm, printers={})

        assert len(told(findings, "fan")) == expected
        assert all(f.change.value == 0.5 for f in told(findings, "fan"))

    @pytest.mark.parametrize(
        ("fan", "support", "warps", "expected"),
        [
            (0.3, False, False, 0),
            (0.29, False, False, 1),
            (0.29, True, False, 0),  # it lies on support
            (0.29, False, True, 0),  # more air would split it
        ],
    )
    def test_under_overhangs(self, build, fan, support, warps, expected):
        """A ceiling of 3 x 20 mm hangs over air."""
        settings = build.settings(fan=fan, support=support)
        findings = audit(
            build,
            settings,
            posed=build.posed(ceilings=[(5, 5, 3, 20)]),
            filament=build.filament(needs_enclosure=warps),
        )

        assert len(told(findings, "fan")) == expected

    def test_a_part_without_overhang_needs_none(self, build):
        """Nothing lies over air."""
        assert not told(audit(build, build.settings(fan=0.0)), "fan")
