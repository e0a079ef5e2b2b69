"""Renew the outputs shown in README.md: `python tests/readme_outputs.py`.

Outputs are cut where they get long; what stands there is what the commands print.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
README = ROOT / "README.md"
FAULTY = ROOT / "samples" / "faulty"


def said(*arguments: str, folder: Path) -> list[str]:
    """Return the lines that the command prints, on 100 columns, in a folder of its own."""
    done = subprocess.run(
        [sys.executable, "-c", "from planner.cli import main; main()", *arguments],
        capture_output=True,
        text=True,
        check=False,
        cwd=folder,
        env={**os.environ, "COLUMNS": "100"},
    )
    return [line.rstrip() for line in (done.stdout or done.stderr).strip().splitlines()]


def head(lines: list[str], count: int) -> list[str]:
    """Return the first lines, and three dots if there are more."""
    return [*lines[:count], "..."] if len(lines) > count else lines


def section(lines: list[str], title: str, count: int) -> list[str]:
    """Return the lines of the table that begins with `title`."""
    start = next(number for number, line in enumerate(lines) if line.startswith(title))
    stop = next((n for n in range(start, len(lines)) if not lines[n]), len(lines))
    return ["", *head(lines[start:stop], count)]


def outputs() -> dict[str, list[str]]:
    """Run the commands and return what the README shows of each."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        said("start", "my-wall", folder=folder)
        plan = said("plan", "my-wall/job.yaml", folder=folder)
        audit = said("audit", "my-wall/job.yaml", folder=folder)
        estimate = said("estimate", "my-wall/job.yaml", folder=folder)
        wall = said("wall", "my-wall/wall.yaml", folder=folder)
        five = (FAULTY / "five_faults.yaml").read_text(encoding="utf-8")
        (folder / "my-wall").rename(folder / "workshop")
        (folder / "faulty").mkdir()
        (folder / "faulty" / "job.yaml").write_text(five, encoding="utf-8")
        faults = said("plan", "faulty/job.yaml", folder=folder)
    total = next(number for number, line in enumerate(estimate) if line.startswith("All "))
    return {
        "plan": [
            *head(plan, 8),
            *section(plan, "Plates", 9),
            *section(plan, "Visits", 9),
            *section(plan, "Totals", 30),
        ],
        "audit": head(audit, 20),
        "estimate": [*head(estimate, 9), *estimate[total : total + 3]],
        "wall": [*head(wall, 9), *section(wall, "Counts", 9), *section(wall, "Kits", 6)],
        "faults": faults,
    }


def main() -> None:
    """Write the outputs between their marks in the README."""
    text = README.read_text(encoding="utf-8")
    for name, lines in outputs().items():
        block = "\n".join([f"<!-- output: {name} -->", "```text", *lines, "```", "<!-- end -->"])
        mark = rf"<!-- output: {name} -->.*?<!-- end -->"
        text = re.sub(mark, lambda _, block=block: block, text, flags=re.DOTALL)
    README.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
