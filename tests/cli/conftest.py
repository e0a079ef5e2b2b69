"""The command in this process works alone: to start another one costs more than a small job."""

import pytest


@pytest.fixture(scope="session", autouse=True)
def one_core():
    """Other processes are tried in tests/handover, and where the command runs as its own."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("planner.cli.screen.cores", lambda: 1)
        yield
