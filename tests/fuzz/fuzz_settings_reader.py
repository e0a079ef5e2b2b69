"""A longer hunt for settings files that the reader trips over; not part of the normal run.

    python tests/fuzz/fuzz_settings_reader.py --minutes 15 --seed 1

Real dialects and grammars of each form are bent: bytes flipped, pieces cut, doubled, swapped,
nested, re-encoded. A case fails if anything but InputError comes out, if it says more than
one problem, if it takes more than `SLOW_S` of processor time, if memory grows beyond
`ROOM_MB`, or if two runs differ. Failing content is kept beside the log.
"""

from __future__ import annotations

import argparse
import json
import random
import resource
import sys
import time
from pathlib import Path

from planner.errors import InputError
from planner.settings.reader.read import read_text_of

SLOW_S = 5.0
ROOM_MB = 600
DIALECTS = Path(__file__).parent.parent / "settings" / "dialects"
PIECES = [
    b"[", b"]", b"{", b"}", b"<", b">", b"</", b"/>", b"<!--", b"-->", b"<![CDATA[", b"]]>",
    b"&amp;", b"<!DOCTYPE a [<!ENTITY b 'c'>]>", b"&b;", b"=", b":", b": ", b";", b",", b"\t",
    b"\n", b"\r", b"\n\n", b"- ", b"  ", b"#", b"//", b'"', b"'", b"\\", b"\\u0000",
    b"\xff\xfe", b"\xef\xbb\xbf", b"\x00", b"\x1a", b"&a ", b"*a",
    b"!!python/object:os.system ", b"---\n", b"...", b"? ", b"| ", b"> ", b"%YAML 1.1\n",
    b"1e999", b"-0", b"nan", b".inf", b"0x10", b"1_000",
    b"99999999999999999999999999999999999999999999999999", b"0.1,0.2;0.3", b"1,000", b"1.000,5",
    b"layer height", b"Schichth\xc3\xb6he", b"wall", b"\xe9", b"mm", b"%", b"\xc2\xb0C",
    b"G1 X1\n", b"M104 S200\n", b"; layer height = 0.2\n", b"\xe2\x80\xae", b"\xf0\x9f\x98\x80",
    b"true", b"null", b"~", b"<a b='c'/>",
]  # fmt: skip


def bent(content: bytes, chance: random.Random) -> bytes:
    """Return content with a few random changes."""
    data = bytearray(content)
    for _ in range(chance.choice([1, 1, 2, 3, 8, 40])):
        at = chance.randrange(len(data) + 1)
        kind = chance.randrange(8)
        end = min(len(data), at + chance.choice([1, 2, 10, 100, 1000]))
        if kind == 0 and data:
            data[at % len(data)] = chance.randrange(256)
        elif kind in (1, 2, 3):
            data[at:at] = chance.choice(PIECES)
        elif kind == 4:
            del data[at:end]
        elif kind == 5:
            data[at:at] = data[at:end] * chance.choice([1, 2, 50])
        elif kind == 6:
            data[at:at] = chance.choice(PIECES) * chance.choice([2, 100, 5000])
        else:
            other = chance.randrange(len(data) + 1)
            data[at:end] = data[other : other + end - at]
    return bytes(data[:2_000_000])


def grown(chance: random.Random, depth: int = 0) -> object:
    """Return random nested data of trade words and odd values."""
    words = [
        "layer",
        "height",
        "wall",
        "count",
        "infill",
        "name",
        "value",
        "unit",
        "x",
        "",
        "é",
        "0",
    ]
    if depth > 6 or chance.random() < 0.4:
        odd = [
            0,
            1,
            -1,
            0.2,
            1e300,
            "0.2 mm",
            "",
            "on",
            "nan",
            None,
            True,
            "9" * 60,
            "0.4;0.4",
            [],
            {},
        ]
        return chance.choice(odd)
    if chance.random() < 0.3:
        return [grown(chance, depth + 1) for _ in range(chance.randrange(5))]
    name = lambda: " ".join(chance.choices(words, k=chance.randrange(1, 4)))  # noqa: E731 (one line)
    return {name(): grown(chance, depth + 1) for _ in range(chance.randrange(6))}


def case(chance: random.Random, seeds: list[bytes]) -> bytes:
    """Return the content of one case."""
    kind = chance.randrange(10)
    if kind == 0:
        return chance.randbytes(chance.randrange(2000))
    if kind == 1:
        return json.dumps(grown(chance), ensure_ascii=False).encode()
    if kind == 2:
        return b"".join(chance.choices(PIECES, k=chance.randrange(1, 200)))
    content = chance.choice(seeds)
    if kind == 3:
        cut = chance.randrange(len(content))
        content = content[:cut] + chance.choice(seeds)[cut:]
    if kind == 4:
        text = content.decode("latin-1")
        content = text.encode(chance.choice(["utf-16", "utf-16-le", "utf-32", "utf-8", "cp037"]))
    return bent(content, chance)


def fault(content: bytes) -> str:
    """Return what is wrong with how a case was taken, or ""."""
    began = time.process_time()
    outcomes = []
    for _ in range(2):
        try:
            outcomes.append(repr(read_text_of(content, "case")))
        except InputError as error:
            if len(error.problems) != 1 or "\n" in str(error):
                return f"not one sentence: {error}"
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
    options.add_argument("--keep", type=Path, default=Path("fuzz-settings-reader"))
    asked = options.parse_args()
    resource.setrlimit(resource.RLIMIT_AS, (2_000_000_000, 2_000_000_000))
    seeds = [path.read_bytes() for path in sorted(DIALECTS.rglob("*.*")) if path.is_file()]
    chance = random.Random(asked.seed)
    ends, done, failed, slowest = time.monotonic() + asked.minutes * 60, 0, 0, 0.0
    while time.monotonic() < ends:
        content = case(chance, seeds)
        began = time.process_time()
        wrong = fault(content)
        slowest = max(slowest, (time.process_time() - began) / 2)
        done += 1
        peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        if peak_mb > ROOM_MB and not wrong:
            wrong = f"{peak_mb:.0f} MB"
        if wrong:
            failed += 1
            asked.keep.mkdir(exist_ok=True)
            (asked.keep / f"case-{asked.seed}-{done}").write_bytes(content)
            _say(f"case {done}: {wrong}")
            if failed >= 20:
                break
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
