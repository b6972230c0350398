"""The starter garden is right, complete and careful."""

from __future__ import annotations

import re
from importlib import resources

import pytest

from scheduler.garden.schema import PlanFile
from scheduler.garden.schema_place import Table

STARTER = (resources.files("scheduler.garden.data") / "starter.toml").read_text(encoding="utf-8")
# Paragraphs of which a table is offered: the text from its head on.
OFFERED_TABLES = [
    paragraph[paragraph.index("# [") :] for paragraph in STARTER.split("\n\n") if "\n# [" in f"\n{paragraph}"
]
# What tables that ask over the network need besides.
ONLINE = ('longitude = "120 W"', 'contact = "name@example.org"')


def taken(text: str, *blocks: str) -> str:
    """Return the plan with offered blocks in use."""
    for block in blocks:
        lines = [line.removeprefix("# ") for line in block.splitlines()]
        assert block in text
        text = text.replace(block, "\n".join(lines), 1)
    return text


def test_starter_is_a_right_plan(garden_of):
    garden = garden_of(STARTER)
    assert 2 <= len(garden.beds) <= 3
    assert str(garden.weather.file) == "weather.csv"
    assert garden.site.latitude == 43.5


def test_starter_leaves_no_default_but_the_texture(garden_of):
    assumed = [str(note) for note in garden_of(STARTER).assumed]
    tables = ("planning", "timer", "water_source", "tariff", "household", "weather")
    assert not [note for note in assumed if note.startswith(tables)]
    soils = [note for note in assumed if note.startswith("soil")]
    assert len(soils) == 1
    assert soils[0].startswith('soil "old topsoil": field capacity and wilting point (23.0 % and 11.0 %)')


def test_starter_begins_with_the_cautions():
    head = " ".join(STARTER.split("format = 1")[0].replace("#", " ").split())
    for words in ("backflow", "Drinking water", "licensed plumber", "local plumbing code", "Frost", "Dig"):
        assert words in head


@pytest.mark.parametrize("table", [PlanFile, *Table.__subclasses__()], ids=lambda table: table.__name__)
def test_starter_shows_every_key(table):
    for name, info in table.model_fields.items():
        assert re.search(rf"\b{info.alias or name}\b", STARTER), name


def test_every_offered_line_is_right_when_taken(garden_of):
    rest = STARTER
    for block in OFFERED_TABLES:
        rest = rest.replace(block, "")
    offered = re.findall(r"^# ([a-z_]+ = .*)$", rest, flags=re.MULTILINE)
    # A cap belongs to another rule of the sewer, and one state must be for all beds.
    alone = [line for line in offered if not line.startswith(("cap ", "bed "))]
    assert len(alone) >= 14
    for line in alone:
        garden_of(STARTER.replace(f"# {line}", line, 1))


@pytest.mark.parametrize("block", OFFERED_TABLES, ids=lambda block: " ".join(block.split()[1:6]))
def test_every_offered_table_is_right_when_taken(garden_of, block):
    garden_of(taken(STARTER, block, *(f"# {line}" for line in ONLINE)))


def test_all_offered_tables_are_right_together(garden_of):
    garden = garden_of(taken(STARTER, *OFFERED_TABLES, *(f"# {line}" for line in ONLINE)))
    assert (len(garden.sources), len(garden.notify)) == (3, 4)
    assert garden.meter is not None
    assert garden.publish is not None
    assert garden.publish.mqtt is not None
