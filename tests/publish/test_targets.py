"""Everything that a plan asks for is written; one place that fails does not hold up the others."""

import json
from pathlib import PurePath

from icalendar import Calendar

from scheduler.garden.plan import MqttPlan, Publish, Secret
from scheduler.publish.targets import publish_table
from tests.publish.broker import nobody_at, retained, running_broker
from tests.publish.tables import COMPUTED, table

FILES = Publish(json=PurePath("timetable.json"), calendar=PurePath("watering.ics"))


def test_files_are_written_beside_the_plan(tmp_path):
    done, failed = publish_table(table(), FILES, folder=tmp_path, stamp=COMPUTED)
    assert (done, failed) == (("timetable.json", "watering.ics"), ())
    assert json.loads((tmp_path / "timetable.json").read_text(encoding="utf-8"))["garden"] == "Heron Lane"
    assert len(Calendar.from_ical((tmp_path / "watering.ics").read_bytes()).events) == 2
    assert {path.name for path in tmp_path.iterdir()} == {"timetable.json", "watering.ics"}


def test_a_broken_place_does_not_hold_up_the_others(tmp_path):
    (tmp_path / "timetable.json").mkdir()
    with nobody_at() as port:
        asked = Publish(FILES.json, FILES.calendar, MqttPlan("127.0.0.1", port, "garden"))
        done, failed = publish_table(table(), asked, folder=tmp_path, stamp=COMPUTED)
    assert done == ("watering.ics",)
    assert len(failed) == 2
    assert "timetable.json" in failed[0]
    assert f"127.0.0.1:{port}" in failed[1]


def test_broker_of_the_plan(tmp_path):
    with running_broker() as port:
        done, failed = publish_table(
            table(), Publish(mqtt=MqttPlan("127.0.0.1", port, "g")), folder=tmp_path, stamp=COMPUTED
        )
        seen = retained(port, 3)
    assert (done, failed) == ((f"127.0.0.1:{port}",), ())
    assert len(seen) == 3


def test_password_that_cannot_be_had(tmp_path, monkeypatch):
    monkeypatch.delenv("NO_SUCH", raising=False)
    broker = MqttPlan("127.0.0.1", 1, "g", user="u", password=Secret(env="NO_SUCH"))
    done, failed = publish_table(table(), Publish(mqtt=broker), folder=tmp_path, stamp=COMPUTED)
    assert done == ()
    assert "NO_SUCH" in failed[0]
