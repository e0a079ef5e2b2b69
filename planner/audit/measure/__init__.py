"""Measuring a toolpath from its geometry: what will really be printed, whatever it says."""

from __future__ import annotations

from planner.audit.measure.measure import measure_toolpath
from planner.audit.measure.model import Figure, Measured, MeasuredPart, Status

__all__ = ["Figure", "Measured", "MeasuredPart", "Status", "measure_toolpath"]
