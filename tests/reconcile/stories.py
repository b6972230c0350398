"""Ledgers that tell a story: five invented beds, their meter read before and after each runs alone."""

import json
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from scheduler.garden.plan import Household
from scheduler.ledger.entries import PlanVersion, Reading, Relaid, Timetable, TimetableRun, Valve
from scheduler.ledger.reading import open_reader
from scheduler.ledger.store import Ledger
from scheduler.reconcile.from_ledger import comparison_inputs, read_records
from scheduler.reconcile.overview import overview
from tests.builders import make_bed, make_garden

__all__ = ["ALL_BEDS", "BEDS", "EMITTER", "GARDEN", "HOUSE", "START", "ZONE", "Story", "inputs_of", "told"]

ZONE = ZoneInfo("Etc/GMT+8")
START = datetime(2026, 5, 3, 18, 0, tzinfo=ZONE)
#: Bed -> emitters; each gives this flow at its pressure [L/h].
BEDS = {"tall bed": 38, "low bed": 24, "salad bed": 33, "round bed": 42, "bean row": 30}
EMITTER = 2.0
#: Flow of all beds together [L/h].
ALL_BEDS = sum(BEDS.values()) * EMITTER
GARDEN = make_garden([make_bed(name, emitters=count) for name, count in BEDS.items()])
HOUSE = replace(GARDEN, household=Household(400.0, 0.0))


class Story:
    """Writes a ledger as a gardener would, with a register that runs on."""

    def __init__(self, path, *, zone="one"):
        self.path, self.zone, self.register = path, zone, 84_512.0
        self.now = START

    def keep(self, *entries):
        with Ledger.open(self.path) as ledger, ledger.writing():
            return [ledger.record(entry, recorded_at=datetime(2026, 12, 1, tzinfo=UTC)) for entry in entries]

    def wait(self, **span):
        self.now += timedelta(**span)

    def use(self, litres):
        self.register += litres

    def read(self, bed=None, *, shows=None):
        """Read the meter down to its litre; `shows` is what is written instead."""
        volume = float(int(self.register)) if shows is None else shows
        self.keep(Reading(self.now, "meter", volume, bed=bed, as_written=f"{volume / 1000:.3f} m3"))

    def test(self, bed, *, share=1.0, minutes=30, extra=0.0):
        """Let one bed run alone, with the meter read at both ends; `extra` is water beside it [L/h]."""
        self.read(bed)
        self.use((share * BEDS[bed] * EMITTER + extra) * minutes / 60.0)
        self.wait(minutes=minutes)
        self.read(bed)
        self.wait(minutes=3)

    def round(self, *, days=14, extra=0.0, share=1.0, **shares):
        """Test every bed, then let some days pass; `share` is that of all, `shares` those of single beds."""
        for bed in BEDS:
            self.test(bed, share=share * shares.get(bed.replace(" ", "_"), 1.0), extra=extra)
        day = self.now.date()
        self.now = datetime(day.year, day.month, day.day, 18, tzinfo=ZONE) + timedelta(days=days)

    def rounds(self, count):
        for _ in range(count):
            self.round()

    def relay(self, bed):
        """Lay a bed's line anew."""
        self.keep(Relaid(self.now, bed))

    def valves(self, state):
        self.keep(*(Valve(self.now, bed, state) for bed in BEDS))

    def advise(self, first, *, start_min=300, minutes=30.0, litres=None, days=7):
        """Keep a timetable with one run of all beds on each of its days."""
        litres = sum(BEDS.values()) * EMITTER * minutes / 60.0 if litres is None else litres
        text = f"plan of {first}"
        (plan,) = self.keep(PlanVersion(text, text))
        (table,) = self.keep(Timetable(first, plan, "w", self.now, json.dumps({})))
        runs = [
            TimetableRun(table, first + timedelta(days=n), self.zone, start_min, minutes, litres)
            for n in range(days)
        ]
        self.keep(*runs)

    @property
    def today(self) -> date:
        return self.now.date()


def inputs_of(story, garden=GARDEN, zone=ZONE):
    with open_reader(story.path) as reader:
        return comparison_inputs(garden, read_records(reader, garden, zone=zone))


def told(story, garden=GARDEN):
    return overview(inputs_of(story, garden))
