"""Settings for all tests: nothing is kept in the user's cache, and random examples repeat."""

import os

from hypothesis import settings

os.environ["PLATEWRIGHT_CACHE"] = ""

settings.register_profile("repeatable", derandomize=True, deadline=None)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "repeatable"))
