"""Whether a printer can print with these settings in this filament."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from planner.settings.model import Filament, Printer, Settings


def compatible(printer: Printer, settings: Settings, filament: Filament) -> str | None:
    """Return None if the printer can do it, else the first reason why not, in words."""
    if settings.nozzle_mm != printer.nozzle_mm:
        return f"its nozzle is {printer.nozzle_mm:g} mm, not {settings.nozzle_mm:g} mm"
    if printer.materials and settings.material not in printer.materials:
        return f"it is set up for {', '.join(printer.materials)}, not for {settings.material}"
    if settings.nozzle_c > printer.nozzle_c_max:
        return f"its nozzle reaches {printer.nozzle_c_max:g} °C, not {settings.nozzle_c:g} °C"
    if settings.bed_c > printer.bed_c_max:
        return f"its bed reaches {printer.bed_c_max:g} °C, not {settings.bed_c:g} °C"
    if filament.needs_enclosure and not printer.enclosed:
        return f"{filament.material} needs an enclosed printer"
    return None
