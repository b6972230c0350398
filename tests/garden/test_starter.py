"""The starter garden is right, complete and careful."""

from __future__ import annotations

import re
from importlib import resources

import pytest

from scheduler.garden.schema import PlanFile
from scheduler.garden.schema_place import Table

STARTER = (resources.files("scheduler.garden.data") / "starter.toml").read_text(encoding="utf-8")
# Keys that are offered inside a table that is itself offered, or under another sewer rule.
IN_OFFERED_TABLES = {
    *("date", "tmax", "bed", "on", "minutes", "volumes"),
    *("reason", "begins", "ends", "days", "from", "to", "exempt", "cap"),
}


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
    offered = re.findall(r"^# ([a-z_]+ = .*)$", STARTER, flags=re.MULTILINE)
    alone = [line for line in offered if line.split(" = ")[0] not in IN_OFFERED_TABLES]
    assert len(alone) >= 12
    for line in alone:
        garden_of(STARTER.replace(f"# {line}", line, 1))


@pytest.mark.parametrize("head", ["[weather.columns]", "[[cup_test]]", "[[restriction]]"])
def test_every_offered_table_is_right_when_taken(garden_of, head):
    block = STARTER[STARTER.index(f"# {head}") :].split("\n\n")[0]
    taken = "\n".join(line.removeprefix("# ") for line in block.splitlines())
    garden_of(STARTER.replace(block, taken, 1))
