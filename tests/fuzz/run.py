"""One fuzzing run of one format, in a process of its own: ``python -m tests.fuzz.run FORMAT RUNS FOLDER``.

Guided by the coverage of the package's own modules. The folder takes the corpus and, if there is a failure,
what was found, in a file whose name begins with ``crash``; the process then ends with a code other than 0.
"""

from __future__ import annotations

import sys
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["scheduler"]):
    from tests.fuzz.broken import BROKEN
    from tests.fuzz.formats import FORMATS

from tests.fuzz.invariants import check
from tests.fuzz.mutate import change_token

LONGEST = 6000


def main(name: str, runs: int, folder: Path) -> None:
    """Fuzz a format; atheris ends the process."""
    chosen = (FORMATS | BROKEN)[name]
    corpus = folder / "corpus"
    corpus.mkdir(parents=True, exist_ok=True)
    for number, seed in enumerate(chosen.seeds):
        (corpus / f"seed_{number}").write_bytes(seed)

    def mutate(data: bytes, most: int, seed: int) -> bytes:
        if seed % 2:
            return bytes(atheris.Mutate(data, most))
        return change_token(data, seed)[:most]

    # One or two changes at a time: more of them leave little for a parser to read.
    settings = {
        "runs": runs,
        "seed": 1,
        "mutate_depth": 2,
        "max_len": LONGEST,
        "timeout": 300,
        "rss_limit_mb": 4096,
    }
    arguments = [f"-{key}={value}" for key, value in settings.items()]
    arguments += [f"-artifact_prefix={folder}/", "-print_final_stats=1", "-verbosity=1", str(corpus)]
    atheris.Setup([sys.argv[0], *arguments], lambda data: check(chosen.parse, data), custom_mutator=mutate)
    atheris.Fuzz()


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]), Path(sys.argv[3]))
