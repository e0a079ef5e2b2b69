"""The same hunt guided by coverage; needs `pip install atheris` (Apache-2.0), not a dependency.

    python tests/fuzz/atheris_settings_reader.py -max_total_time=600 CORPUS_DIR

Fill the folder with the files of `tests/settings/dialects` to begin from them. Whatever
comes out besides InputError ends the run, and the content is written to a crash file.
"""

from __future__ import annotations

import sys


def main() -> None:
    """Hunt until the time is over or something is found."""
    import atheris

    with atheris.instrument_imports(include=["planner"]):
        from planner.errors import InputError
        from planner.settings.reader.read import read_text_of

    def one(content: bytes) -> None:
        """Read some bytes; one sentence or an answer, else the run ends."""
        try:
            read_text_of(content, "case")
        except InputError as error:
            if len(error.problems) != 1 or "\n" in str(error):
                raise

    limits = ["-timeout=20", "-rss_limit_mb=1500"]
    atheris.Setup([sys.argv[0], *limits, *sys.argv[1:]], one)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
