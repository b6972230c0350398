"""Leaves out the runs of the fuzzer where the test extra does not ask for it, and nowhere else.

Where it is asked for and not installed, they fail.
"""

from __future__ import annotations

import tomllib
from pathlib import Path

from packaging.requirements import Requirement


def _asked_for() -> bool:
    """Return True if the test extra, on this Python and system, holds the fuzzer."""
    text = (Path(__file__).resolve().parents[2] / "pyproject.toml").read_text(encoding="utf-8")
    extra = map(Requirement, tomllib.loads(text)["project"]["optional-dependencies"]["test"])
    (fuzzer,) = (each for each in extra if each.name == "atheris")
    return fuzzer.marker is None or fuzzer.marker.evaluate()


collect_ignore = [] if _asked_for() else ["test_fuzzer.py"]
