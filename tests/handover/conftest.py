"""The sample workshop, read once; the handover is tried on real parts."""

from __future__ import annotations

import pytest

from planner.handover.parts import ready_parts
from planner.job.demand import needs
from planner.job.load import load_job
from planner.shipped import workshop_dir


@pytest.fixture(scope="session")
def job():
    return load_job(workshop_dir() / "job.yaml")


@pytest.fixture(scope="session")
def parts(job):
    return ready_parts(job, needs(job))
