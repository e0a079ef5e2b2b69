"""Published strips and their best-known densities (per cent); see data/strip/README.md."""

from pathlib import Path

from planner.nest.strip.load import load_strip

# Records and Table 3 of Gardeyn, Vanden Berghe and Wauters 2025 (arXiv 2509.13329).
BEST_KNOWN = {
    "albano": 89.821,
    "blaz1": 86.224,
    "fu": 92.396,
    "jakobs1": 89.247,
    "mao": 86.867,
    "shapes0": 69.978,
    "shapes1": 76.719,
    "shirts": 90.92,
}


def published_strip(name):
    """Return (items, depth_mm); clearance and margin are 0."""
    items, depth_mm, _, _ = load_strip(Path(__file__).parent / "data" / "strip" / f"{name}.json")
    return items, depth_mm
