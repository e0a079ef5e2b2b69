"""A longer hunt for toolpaths that the measuring trips over; not part of the normal run.

    python tests/fuzz/fuzz_toolpaths.py --minutes 15 --seed 1

Plates made of chance are bent: numbers changed, words swapped, lines cut, doubled and moved. A
case fails if anything but InputError in one line comes out, if it takes more than `SLOW_S` of
processor time, if memory grows beyond `ROOM_MB`, or if two runs differ. Failing content is
kept beside the log.
"""

from __future__ import annotations

import argparse
import json
import random
import resource
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from planner.audit.measure import measure_toolpath
from planner.audit.measure.told import measured_document, settings_of
from planner.errors import InputError
from planner.settings.load import load_printer
from tests.audit.measure.catalogue import random_recipe
from tests.audit.measure.writing import write

SLOW_S = 8.0
ROOM_MB = 1200
PLATES = 6
LINES = 2500
NUMBERS = [
    "0", "-0", ".5", "1e9", "999999", "-999999", "0.00001", "123456789012345678901234567890",
    "--1", "1.2.3", "", "nan", "inf", "10.0004", "-5", "200", "0.2", "30000",
]  # fmt: skip
SAID = [
    "G91", "G90", "M83", "M82", "G20", "G21", "G92 E0", "G92 X0 Y0 Z0", "G28", "M104 S0",
    "M104 S210", "M107", "M106 S255", "M200 D1.75", "G10", "G11", "G2 X50 Y50 I5 J5 E1", "G4 P9999",
    "G3 X9 Y9 R1", "T1", "M600", "N5 G1 X1*99", "; layer height = 9", "\x00\x01", "G1 Z-5", "G1 F0",
    "G1 X1 E1000", "G1 Z1000 E5", "G1 X5000 E9", "G1 E-50", "G0", "M0", "%", "(", "G1 X1 Y2 X3",
]  # fmt: skip


def bent(lines: list[str], chance: random.Random) -> list[str]:
    """Return lines with a few random changes."""
    lines = list(lines)
    for _ in range(chance.choice([1, 2, 5, 30, 200])):
        at = chance.randrange(len(lines))
        kind = chance.randrange(6)
        words = lines[at].split()
        if kind == 0 and words:
            place = chance.randrange(len(words))
            words[place] = words[place][:1] + chance.choice(NUMBERS)
            lines[at] = " ".join(words)
        elif kind == 1 and words:
            words.pop(chance.randrange(len(words)))
            lines[at] = " ".join(words)
        elif kind == 2:
            lines.insert(at, chance.choice(SAID))
        elif kind == 3:
            del lines[at : at + chance.choice([1, 5, 100])]
        elif kind == 4:
            lines[at:at] = lines[at : at + chance.choice([1, 20, 200])]
        else:
            other = chance.randrange(len(lines))
            lines[at], lines[other] = lines[other], lines[at]
        if not lines:
            return [chance.choice(SAID)]
    return lines


def case(chance: random.Random, plates: list[list[str]]) -> bytes:
    """Return the content of one case."""
    if chance.random() < 0.2:
        made = chance.choices(SAID, k=chance.randrange(1, 40))
    else:
        plate = chance.choice(plates)
        begin = chance.choice([0, 0, chance.randrange(len(plate))])
        made = plate[begin : begin + chance.choice([50, 500, LINES])]
    return "\n".join(bent(made, chance)).encode("utf-8", "surrogateescape")


def fault(file: Path) -> str:
    """Return what is wrong with how a case was taken, or ""."""
    printer = load_printer("open_frame_220")
    began, outcomes = time.process_time(), []
    for _ in range(2):
        try:
            measured = measure_toolpath(file, printer=printer)
            settings_of(measured)
            outcomes.append(json.dumps(measured_document(measured), allow_nan=False))
        except InputError as error:
            if "\n" in str(error):
                return f"not one line: {error}"
            outcomes.append(str(error))
        except Exception as error:  # noqa: BLE001 - whatever comes out is what is sought
            return f"{type(error).__name__}: {error}"
    if outcomes[0] != outcomes[1]:
        return "two runs differ"
    took = (time.process_time() - began) / 2
    return f"{took:.1f} s of processor time" if took > SLOW_S else ""


def main() -> int:
    """Run for a while, print what was done, and return 1 if anything failed."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--minutes", type=float, default=1.0)
    options.add_argument("--seed", type=int, default=0)
    options.add_argument("--keep", type=Path, default=Path("fuzz-toolpaths"))
    asked = options.parse_args()
    plates = [write(random_recipe(asked.seed * 100 + n))[0].splitlines() for n in range(PLATES)]
    chance = random.Random(asked.seed)
    ends, done, failed, slowest = time.monotonic() + asked.minutes * 60, 0, 0, 0.0
    room_mb = ROOM_MB  # the peak never falls: only a higher one is another failure
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "case.gcode"
        while time.monotonic() < ends and failed < 20:
            content = case(chance, plates)
            file.write_bytes(content)
            began = time.process_time()
            wrong = fault(file)
            slowest = max(slowest, (time.process_time() - began) / 2)
            done += 1
            peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
            if peak_mb > room_mb:
                wrong, room_mb = wrong or f"{peak_mb:.0f} MB", peak_mb
            if wrong:
                failed += 1
                asked.keep.mkdir(exist_ok=True)
                (asked.keep / f"case-{asked.seed}-{done}.gcode").write_bytes(content)
                _say(f"case {done}: {wrong}")
    _say(
        f"seed {asked.seed}: {done} cases in {asked.minutes:g} min, {failed} failed, slowest "
        f"{slowest:.2f} s, peak {peak_mb:.0f} MB"
    )
    return int(failed > 0)


def _say(text: str) -> None:
    sys.stdout.write(f"{text}\n")
    sys.stdout.flush()


if __name__ == "__main__":
    sys.exit(main())
