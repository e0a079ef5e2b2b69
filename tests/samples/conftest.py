"""Where the sample files lie, and the way to the code that draws them."""

from __future__ import annotations

import sys
from pathlib import Path

SAMPLES = Path(__file__).parents[2] / "samples"
sys.path.insert(0, str(SAMPLES))
