"""Holding parts, settings and jobs against a guideline, physics and printers: findings.

Every public function takes frozen values and returns a sorted tuple of `Finding`; nothing
here reads a mesh, writes a file or changes what it was given.
"""

from __future__ import annotations

from planner.audit.cautions import cautions
from planner.audit.document import (
    audit_document,
    audit_settings_file,
    audited_job,
    audited_settings,
)
from planner.audit.job import audit_job
from planner.audit.model import AuditedFile, Finding, Group
from planner.audit.order import grouped, has_stop, in_order
from planner.audit.part import audit_part
from planner.audit.settings import audit_physics, audit_settings, audit_wholly

__all__ = [
    "AuditedFile",
    "Finding",
    "Group",
    "audit_document",
    "audit_job",
    "audit_part",
    "audit_physics",
    "audit_settings",
    "audit_settings_file",
    "audit_wholly",
    "audited_job",
    "audited_settings",
    "cautions",
    "grouped",
    "has_stop",
    "in_order",
]
