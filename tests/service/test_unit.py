"""The systemd unit: every word quoted as systemd reads it, and only the folders that are written to."""

import configparser
from dataclasses import replace
from datetime import time
from pathlib import Path, PurePath

import pytest

from scheduler.garden.plan import FileNotice, Publish
from scheduler.service.unit import unit_text, written_folders
from tests.builders import make_garden

PLAN = Path("/srv/garden/plan.toml")


def unit(plan=PLAN, **changes):
    text = unit_text(
        ("/opt/py/bin/python", "-m", "scheduler"),
        plan,
        garden=make_garden(**changes),
        at=time(4, 10),
        user="ann",
    )
    parser = configparser.RawConfigParser(strict=True)
    parser.optionxform = str
    parser.read_string(text)
    return text, parser


def test_unit_calls_what_the_caller_calls():
    text, parser = unit()
    service = parser["Service"]
    assert service["ExecStart"] == (
        '"/opt/py/bin/python" "-m" "scheduler" "serve" "/srv/garden/plan.toml" "--at" "04:10"'
    )
    assert service["WorkingDirectory"] == "/srv/garden"
    assert service["User"] == "ann"
    assert service["ReadWritePaths"] == '"/srv/garden"'
    assert service["ProtectSystem"] == "strict"
    assert service["NoNewPrivileges"] == "yes"
    assert parser["Unit"]["Description"] == "Watering timetable of test garden"
    assert parser["Install"]["WantedBy"] == "multi-user.target"
    assert "DynamicUser=yes" in text


@pytest.mark.parametrize(
    ("name", "word"),
    [
        ("my plan.toml", '"/srv/my plan.toml"'),
        ("50%.toml", '"/srv/50%%.toml"'),
        ("$HOME.toml", '"/srv/$$HOME.toml"'),
        ('a"b.toml', '"/srv/a\\"b.toml"'),
        ("a\\b.toml", '"/srv/a\\\\b.toml"'),
    ],
)
def test_odd_paths_stay_one_word(name, word):
    _, parser = unit(Path("/srv") / name)
    assert f" {word} " in parser["Service"]["ExecStart"]


def test_name_of_a_garden_adds_no_line():
    text, parser = unit(name="Shed\nExecStart=/bin/false 5%")
    assert parser["Unit"]["Description"] == "Watering timetable of Shed ExecStart=/bin/false 5%%"
    assert text.count("\nExecStart=") == 1


def test_folders_of_everything_that_is_written():
    garden = replace(
        make_garden(),
        ledger=PurePath("kept/garden.sqlite"),
        notify=(FileNotice(PurePath("/var/log/garden/notices.txt")),),
        publish=Publish(json=PurePath("timetable.json"), calendar=PurePath("/srv/web/watering.ics")),
    )
    assert written_folders(PLAN, garden) == tuple(
        Path(name) for name in ("/srv/garden/kept", "/var/log/garden", "/srv/garden", "/srv/web")
    )
