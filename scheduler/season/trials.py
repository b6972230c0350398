"""What a remedy tried against a watering restriction does for a bed. Pure."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal, TypedDict, Unpack

from scheduler.garden.plan import Garden
from scheduler.season.order import NOTABLE_EXCESS, Fare, OrderCase, fare_of
from scheduler.season.results import WeekResult
from scheduler.season.run import run_week
from scheduler.season.setup import set_up

__all__ = ["Remedy", "Trial", "Verdict", "not_possible", "replanned", "trial_of"]

Remedy = Literal[
    "another day",
    "more hours",
    "longer runs",
    "weekday timer",
    "split runs",
    "mulch",
    "deeper soil",
    "deeper soil and mulch",
    "deeper soil and split runs",
    "mulch and split runs",
    "by hand",
]
#: A change of depth below this is none [mm]: a hundredth of an inch, as tables show it.
_NOTABLE_GAIN = 0.15
#: Decimals of Ks that are shown; a change below them is none.
_KS_DECIMALS = 2

Verdict = Literal["cures", "helps", "does nothing", "makes it worse", "cannot be done"]


@dataclass(frozen=True, slots=True)
class Trial:
    """What one remedy, tried alone, does for one bed.

    Attributes
    ----------
    bed : int
    remedy : Remedy
    verdict : Verdict
        Cured is a bed that is no further past its limit than without the restriction.
    left : float or None
        By how much it still passes its limit at most [mm]; None where nothing was tried.
    gain : float
        How much less that is than under the restriction alone [mm]; below 0 if it is more, as in deeper soil
        that never fills; 0 if it is about the same.
    stress, relief : float or None, float
        Least Ks that is left, and by how much that is more than under the restriction alone; 0 if it is about
        the same.
    amount : float or None
        The least that cures, or the most that was tried: metres of soil, minutes on top of the longest run,
        litres by hand in all.
    days : tuple of str
        Weekdays any of which cures (else the one that helps most), or dates of water by hand.
    volumes : tuple of float
        Litres by hand on each of those dates.
    reason : str
        Why it cannot be done, or what goes with it.
    """

    bed: int
    remedy: Remedy
    verdict: Verdict
    left: float | None
    gain: float = 0.0
    stress: float | None = None
    relief: float = 0.0
    amount: float | None = None
    days: tuple[str, ...] = ()
    volumes: tuple[float, ...] = ()
    reason: str = ""

    @property
    def worth(self) -> tuple[bool, bool, float, float]:
        """What it is worth beside other trials of the same bed; more is better."""
        return self.verdict == "cures", self.verdict == "helps", self.gain, self.relief


class _Told(TypedDict, total=False):
    """What a trial may tell beside its verdict."""

    amount: float | None
    days: tuple[str, ...]
    volumes: tuple[float, ...]
    reason: str


def trial_of(case: OrderCase, bed: int, remedy: Remedy, fare: Fare, **told: Unpack[_Told]) -> Trial:
    """Return what a fare means for a bed."""
    left, stress = float(fare.worst[bed]), float(fare.least_stress[bed])
    gain = float(case.kept.worst[bed]) - left
    before = float(case.kept.least_stress[bed])
    relief = stress - before if round(stress, _KS_DECIMALS) != round(before, _KS_DECIMALS) else 0.0
    cured = left <= case.goal[bed]
    if abs(gain) < (NOTABLE_EXCESS if cured else _NOTABLE_GAIN):
        gain = 0.0
    verdict: Verdict = "does nothing"
    if cured and gain >= 0.0:
        verdict = "cures"
    elif gain > 0.0 or relief > 0.0:
        # Deeper soil that never fills ends further past its limit, and yet its crops use more.
        verdict = "helps"
    elif gain < 0.0:
        verdict = "makes it worse"
    return replace(Trial(bed, remedy, verdict, left, gain, stress, relief), **told)


def not_possible(bed: int, remedy: Remedy, reason: str) -> Trial:
    """Return the trial of a remedy that was not tried."""
    return Trial(bed, remedy, "cannot be done", None, reason=reason)


def replanned(case: OrderCase, garden: Garden) -> tuple[WeekResult, Fare]:
    """Return the case's week on a changed garden, replayed as such, and how its beds fare."""
    setup = set_up(garden, case.setup.daily, case.setup.notes)
    result = run_week(garden, setup.daily, on=case.day.on, notes=setup.notes)
    return result, fare_of(setup, result.plan, result.outlook, limit=result.limit)
