"""The same days with inputs that lie off: conditions and soil for many cases at once. Pure.

Every case is a row of the arrays that the balance takes, shape (n_cases, n_beds), so that all cases go
through one kernel together.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from scheduler.water.balance import Conditions, SoilState
from scheduler.water.evaporation import SurfaceDay

__all__ = ["INPUTS", "Multipliers", "multipliers_of", "varied_day", "varied_soil"]

FloatArray = NDArray[np.float64]


class Multipliers(NamedTuple):
    """Factors on the inputs that an answer rests on, 1 for as reckoned; arrays of shape (n_cases, n_beds).

    A factor holds for all days alike: an error of a method, a soil or a line does not average out.
    """

    reference_et: FloatArray
    crop_coefficient: FloatArray
    available_water: FloatArray
    efficiency: FloatArray
    flow: FloatArray
    rain: FloatArray

    @property
    def net_rate(self) -> FloatArray:
        """Factor on the depth stored for each minute of an open valve."""
        return self.efficiency * self.flow


#: The inputs in the order of the last axis of every array of factors or uncertainties.
INPUTS = Multipliers._fields


def multipliers_of(cases: FloatArray) -> Multipliers:
    """Return factors by input from an array of shape (n_cases, n_beds, n_inputs); n_beds may be 1 for all."""
    return Multipliers(*np.moveaxis(np.asarray(cases, dtype=float), -1, 0))


def varied_day(day: Conditions, factors: Multipliers, *, gauged: bool = False) -> Conditions:
    """Return one day's conditions under every case.

    Crop use follows reference ET and the crop coefficient, the energy for evaporation reference ET alone; all
    that soil holds, the surface layer included, follows the available water. Rain of the person's own gauge
    is as measured.
    """
    held, weather = factors.available_water, factors.reference_et
    surface = day.surface
    if surface is not None:
        surface = SurfaceDay(
            most=surface.most * weather,
            strip=surface.strip,
            rest=surface.rest,
            wetted=surface.wetted,
            tew=surface.tew * held,
            rew=surface.rew * held,
            kept=surface.kept,
            roots=surface.roots,
        )
    return Conditions(
        basal=day.basal * weather * factors.crop_coefficient,
        rain=day.rain if gauged else day.rain * factors.rain,
        taw=day.taw * held,
        raw=day.raw * held,
        storage=day.storage * held,
        surface=surface,
    )


def varied_soil(state: SoilState, factors: Multipliers) -> SoilState:
    """Return a soil that is known under every case: as dry, as a share of what it holds.

    A look at the soil tells wet from dry, not millimetres.
    """
    return SoilState(*(part * factors.available_water for part in state))
