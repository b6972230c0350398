"""Short ways to write a bed's soil and a day's conditions for tests of the balance."""

from __future__ import annotations

from scheduler.water.balance import Conditions, SoilState
from scheduler.water.evaporation import SurfaceDay

__all__ = ["bare", "conditions", "soil"]


def soil(depletion=0.0, *, below=0.0, strip=0.0, rest=0.0, reach=40.0):
    """Return a soil state; `reach` must be the TAW of the day for roots that stay where they are."""
    return SoilState(depletion, below, strip, rest, reach)


def conditions(*, basal=0.0, rain=0.0, taw=40.0, raw=16.0, storage=None, surface=None):
    """Return a day's conditions; without a storage the roots reach the bottom of the bed."""
    return Conditions(basal, rain, taw, raw, taw if storage is None else storage, surface)


def bare(*, most, strip=1.0, rest=0.0, wetted=1.0, tew=20.0, rew=9.0, kept=1.0, roots=0.0):
    """Return a surface; as given, all of it is exposed and wetted by every run."""
    return SurfaceDay(most, strip, rest, wetted, tew, rew, kept, roots)
