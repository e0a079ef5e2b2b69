"""Settings of the tests of documents."""

from __future__ import annotations

from hypothesis import settings

# No time limit per example: the machine may be busy with something else.
settings.register_profile("unhurried", deadline=None)
settings.load_profile("unhurried")
