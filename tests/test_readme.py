"""README is run: its console blocks show what is printed, its commands exist and are all there."""

import re

import pytest

from scheduler.cli import rillbook
from tests.readme_blocks import BLOCK, README, run

TEXT = README.read_text(encoding="utf-8")
BLOCKS = [(match["command"], match["output"]) for match in BLOCK.finditer(TEXT)]


@pytest.mark.parametrize(("command", "output"), BLOCKS, ids=[command for command, _ in BLOCKS])
def test_console_block_shows_what_is_printed(command, output):
    assert run(command) == output


@pytest.mark.parametrize("command", sorted(rillbook.commands))
def test_every_command_is_in_readme(command):
    assert re.search(rf"rillbook {command}\b", TEXT)


def test_opens_with_the_job_then_two_commands():
    parts = TEXT.split("\n\n")
    assert parts[0] == "# rillbook"
    assert not parts[1].startswith(("#", "`", "-", "|"))
    assert parts[2].startswith("## ")
    setup = re.findall(r"<!-- (\w+) -->\n```sh\n([^\n]*)\n```", TEXT)
    assert [name for name, _ in setup] == ["week", "test"]
    assert "-m pytest" in setup[1][1]


def test_cautions_are_there():
    for word in ("backflow", "licensed", "frost", "local code", "outdoor-rated"):
        assert word in TEXT
