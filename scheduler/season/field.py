"""What people recorded in the garden, as arrays that take the place of assumptions. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields
from datetime import date
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from scheduler.garden.plan import Garden

__all__ = ["DigNote", "FieldArrays", "FieldNotes", "GaugeNote", "MoistureNote", "RunNote", "field_arrays"]

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

#: Depletion that a finding allows, as shares of RAW; a state that lies outside is moved to the nearer end.
#: Judgement, no source: a dig tells wet from dry, not millimetres.
BANDS: dict[str, tuple[float, float]] = {"wet": (0.0, 0.25), "right": (0.0, 0.75), "dry": (1.0, np.inf)}

#: Tension up to which a loose mix counts as wet, and beyond which as dry [kPa]. Common practice, no source.
WET_TENSION, DRY_TENSION = 10.0, 30.0

#: How far from a measured content the true one may lie, as a share of TAW. Judgement, no source: a probe
#: reads one spot of a bed that drip wets in strips.
CONTENT_SPREAD = 0.10


@dataclass(frozen=True, slots=True)
class RunNote:
    """Water that ran or was skipped on a day; zone and bed None mean all; minutes None mean as advised.

    `recorded` is False for a run that was advised at the time and of which nothing more is known.
    """

    on: date
    ran: bool
    zone: str | None = None
    bed: str | None = None
    minutes: float | None = None
    recorded: bool = True


@dataclass(frozen=True, slots=True)
class GaugeNote:
    """Rain of a day in the person's own gauge, in the open [mm]."""

    on: date
    rain: float


@dataclass(frozen=True, slots=True)
class DigNote:
    """What a dig found in a bed at the end of a day."""

    on: date
    bed: str
    finding: Literal["wet", "right", "dry"]


@dataclass(frozen=True, slots=True)
class MoistureNote:
    """Soil moisture measured in a bed at root depth at the end of a day; one of the two is given.

    `content` is a share of the soil's volume, `tension` what a tensiometer showed [kPa].
    """

    on: date
    bed: str
    content: float | None = None
    tension: float | None = None


@dataclass(frozen=True, slots=True)
class FieldNotes:
    """Everything recorded, in its order; a later note of one thing takes the place of an earlier one."""

    runs: tuple[RunNote, ...] = ()
    gauges: tuple[GaugeNote, ...] = ()
    digs: tuple[DigNote, ...] = field(default=())
    moistures: tuple[MoistureNote, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class FieldArrays:
    """The notes on a span of days.

    Attributes
    ----------
    known : array of bool, shape (n_days, n_beds)
        True where a run or a skipped run is recorded.
    minutes : array, shape (n_days, n_beds)
        Recorded minutes; NaN where none are, which means as advised.
    rain : array, shape (n_days,)
        Gauge rain [mm]; NaN where none is recorded.
    found : array of bool, shape (n_days, n_beds)
        True on the morning after a dig or a measurement of soil moisture.
    least, most : arrays, shape (n_days, n_beds)
        Band of depletion that a dig or a tension of the evening before allows, as shares of RAW; 0 and
        infinite if there is none.
    missing : array, shape (n_days, n_beds)
        Depletion by a measured content of the evening before, as a share of TAW; NaN if there is none.
    """

    known: BoolArray
    minutes: FloatArray
    rain: FloatArray
    found: BoolArray
    least: FloatArray
    most: FloatArray
    missing: FloatArray

    def on(self, day: int) -> FieldArrays:
        """Return one day."""
        return FieldArrays(*(getattr(self, part.name)[day] for part in fields(self)))


def field_arrays(notes: FieldNotes, garden: Garden, dates: NDArray[np.datetime64]) -> FieldArrays:
    """Return what the notes say of each of the dates; notes of other days are left out."""
    shape = (dates.shape[0], len(garden.beds))
    place = {day: i for i, day in enumerate(dates.tolist())}
    known, minutes = np.zeros(shape, dtype=bool), np.full(shape, np.nan)
    for run in notes.runs:
        if run.on in place:
            beds = _beds(garden, run)
            known[place[run.on], beds] = run.recorded
            minutes[place[run.on], beds] = _minutes(run)
    rain = np.full(shape[0], np.nan)
    for gauge in notes.gauges:
        if gauge.on in place:
            rain[place[gauge.on]] = gauge.rain
    return FieldArrays(known, minutes, rain, *_findings(notes, garden, place))


def _findings(
    notes: FieldNotes, garden: Garden, place: Mapping[date, int]
) -> tuple[BoolArray, FloatArray, FloatArray, FloatArray]:
    """Return `found`, `least`, `most`, `missing` of `FieldArrays`; what is found holds the next morning."""
    shape = (len(place), len(garden.beds))
    found, missing = np.zeros(shape, dtype=bool), np.full(shape, np.nan)
    least, most = np.zeros(shape), np.full(shape, np.inf)
    numbers = {bed.name: number for number, bed in enumerate(garden.beds)}
    findings: tuple[DigNote | MoistureNote, ...] = (*notes.digs, *notes.moistures)
    for note in findings:
        morning = place.get(date.fromordinal(note.on.toordinal() + 1))
        if morning is None or note.bed not in numbers:
            continue
        spot = morning, numbers[note.bed]
        found[spot] = True
        if isinstance(note, DigNote):
            least[spot], most[spot] = BANDS[note.finding]
        elif note.content is not None:
            mix = garden.beds[spot[1]].soil
            held = (note.content - mix.wilting_point) / (mix.field_capacity - mix.wilting_point)
            missing[spot] = min(max(1.0 - held, 0.0), 1.0)
        elif note.tension is not None:
            least[spot], most[spot] = _tension_band(note.tension)
    return found, least, most, missing


def _tension_band(tension: float) -> tuple[float, float]:
    """Return the band of depletion that a tension [kPa] allows, as a dig's would be."""
    return BANDS["wet" if tension <= WET_TENSION else "dry" if tension > DRY_TENSION else "right"]


def _minutes(run: RunNote) -> float:
    """Return the minutes of a note: 0 if skipped, NaN if as advised."""
    if not run.ran:
        return 0.0
    return np.nan if run.minutes is None else run.minutes


def _beds(garden: Garden, run: RunNote) -> Sequence[int]:
    """Return the numbers of the beds that a note is about."""
    return [
        i for i, bed in enumerate(garden.beds) if run.bed in (None, bed.name) and run.zone in (None, bed.zone)
    ]
