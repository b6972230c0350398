"""Readings that look wrong become notices that name the beds and the command to go on with."""

from datetime import UTC, datetime

import pytest

from scheduler.garden.planfile import load_plan
from scheduler.ledger.entries import Reading
from scheduler.ledger.store import Ledger
from scheduler.service.reading_doubts import doubts_of
from scheduler.service.usual import USUAL_TOOLS
from tests.service.conftest import MONDAY


class Thing:
    def __init__(self, **values):
        self.__dict__.update(values)


def found(*wrong, beds=(), drifting=()):
    """Return an overview with what is asked of it here."""
    alarm = Thing(standing=True)
    return Thing(
        wrong=wrong,
        rounds=(Thing(diagnosis=Thing(findings=(Thing(beds=beds),))),),
        drifts=(*(Thing(bed=bed, alarm=alarm) for bed in drifting), Thing(bed="sound", alarm=None)),
    )


def doubts(*arguments, **more):
    return doubts_of(found(*arguments, **more), garden="Heron Lane", plan="garden.toml")


def test_nothing_wrong_is_quiet():
    assert doubts() == ()


def test_beds_are_named():
    flow, drift = doubts("flow", "drift", beds=("tall bed", "low bed"), drifting=("salad",))
    assert flow.key == "flow low bed, tall bed"
    assert flow.text == (
        "Heron Lane: the flow of low bed, tall bed is not what it was. "
        "What to look at first: rillbook reconcile garden.toml"
    )
    assert drift.key == "drift salad"


@pytest.mark.parametrize("kind", ["leak", "water", "reading"])
def test_whole_garden(kind):
    (doubt,) = doubts(kind)
    assert doubt.key == kind
    assert doubt.text.endswith("rillbook reconcile garden.toml")


def test_ledger_with_a_reading_that_goes_backwards(place):
    """From the ledger's own rows to the notice, through the comparisons as they are."""
    place.day(MONDAY)
    with Ledger.open(place.ledger) as ledger:
        for day, volume in ((10, 84_000.0), (12, 84_500.0), (13, 8_600.0), (14, 84_900.0)):
            at = datetime(2026, 6, day, 6, tzinfo=UTC)
            ledger.record_reading(Reading(at, "meter", volume, as_written=f"{volume} L"), recorded_at=at)
        garden = load_plan(place.plan)
        keys = [doubt.key for doubt in USUAL_TOOLS.doubts(place.plan, garden, ledger)]
    assert "reading" in keys
