"""How short the strips are, against the best densities published for eight instances."""

from __future__ import annotations

import time

import pytest

from planner.handover.workers import hire
from planner.nest.strip.pack import effort_for, pack_strip
from tests.nest.strips import BEST_KNOWN, published_strip


@pytest.mark.benchmark
@pytest.mark.parametrize(("seconds", "mean", "least"), [(5.0, 0.90, 0.0), (60.0, 0.95, 0.88)])
def test_share_of_the_best_known_density_on_eight_published_strips(seconds, mean, least, capsys):
    """Two searches on two cores, each an amount of work that stands for the seconds."""
    ratios = {}
    with hire(2) as workers:
        for name, best in BEST_KNOWN.items():
            items, depth_mm = published_strip(name)
            begin = time.perf_counter()
            strip = pack_strip(
                items,
                depth_mm,
                clearance_mm=0.0,
                edge_mm=0.0,
                effort=effort_for(seconds),
                workers=workers,
            )
            ratios[name] = 100 * strip.density / best
            with capsys.disabled():
                print(
                    f"{name}: {100 * strip.density:.2f} % covered, best known {best} %, "
                    f"ratio {ratios[name]:.4f}, {time.perf_counter() - begin:.1f} s by the clock"
                )
    with capsys.disabled():
        print(f"{seconds:g} s: mean {sum(ratios.values()) / len(ratios):.4f}")

    assert sum(ratios.values()) / len(ratios) >= mean
    assert min(ratios.values()) >= least
