"""README's console blocks: run again, so that what it shows is what the program prints.

``python -m tests.readme_blocks`` writes the present output into README.md.
"""

from __future__ import annotations

import contextlib
import io
import os
import re
import shlex
from pathlib import Path

from scheduler.cli import main

ROOT = Path(__file__).parent.parent
README = ROOT / "README.md"
BLOCK = re.compile(r"```console\n\$ (?P<command>[^\n]*)\n(?P<output>.*?)```\n", re.DOTALL)


def run(command: str) -> str:
    """Return what a command of README prints, run from the top of the checkout."""
    words = shlex.split(command)
    assert words[0] == "rillbook", command
    out = io.StringIO()
    before = Path.cwd()
    os.chdir(ROOT)
    try:
        with contextlib.redirect_stdout(out):
            code = main(words[1:])
    finally:
        os.chdir(before)
    assert code == 0, f"{command} ended with exit code {code}"
    return out.getvalue()


def refreshed(text: str) -> str:
    """Return README's text with every console block run again."""

    def again(match: re.Match[str]) -> str:
        return f"```console\n$ {match['command']}\n{run(match['command'])}```\n"

    return BLOCK.sub(again, text)


if __name__ == "__main__":
    README.write_text(refreshed(README.read_text(encoding="utf-8")), encoding="utf-8")
