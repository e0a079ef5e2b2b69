"""Every part of the system by the name of its mesh file."""

from __future__ import annotations

from functools import partial
from types import MappingProxyType
from typing import TYPE_CHECKING

from toolwall import board, hung

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from manifold3d import Manifold

PARTS: Mapping[str, Callable[[], Manifold]] = MappingProxyType(
    {
        "bin_large": hung.bin_large,
        "bin_small": hung.bin_small,
        "cap": board.cap,
        "fit_coupon": board.fit_coupon,
        "hanger": hung.hanger,
        "hook_double": hung.hook_double,
        "hook_long": hung.hook_long,
        "hook_single": hung.hook_single,
        "hose_cradle": hung.hose_cradle,
        "key": board.key,
        "label_plate": hung.label_plate,
        "panel": board.panel,
        "panel_half": partial(board.panel, columns=2),
        "rail": hung.rail,
        "screwdriver_rack": hung.screwdriver_rack,
        "shelf_bracket": hung.shelf_bracket,
        "spoke_holder": hung.spoke_holder,
        "standoff": board.standoff,
        "trim_corner": board.trim_corner,
        "trim_edge": board.trim_edge,
        "wedge": board.wedge,
        "wrench_cradle": hung.wrench_cradle,
    }
)
