"""What each bed's drip line puts down: flow, application rate, efficiency, and where each is from."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduler.drip.emitters import (
    application_rate,
    emission_uniformity,
    emitter_flow,
    low_quarter_uniformity,
)
from scheduler.garden.plan import Bed, Garden

__all__ = ["BedSupply", "bed_supply", "supply_arrays"]

FloatArray = NDArray[np.float64]

#: Application efficiency of drip where the plan gives nothing to go by.
#: Colorado State University Extension fact sheet 5.623 (2019), quick facts: about 90 %.
USUAL_DRIP_EFFICIENCY = 0.90

MINUTES_PER_HOUR = 60.0


@dataclass(frozen=True, slots=True)
class BedSupply:
    """One bed's water, in canonical units, with the source of each figure in words.

    `emitter_flow` [L/h], `flow` of the whole bed [L/h], `rate` [mm/h], `efficiency` 0..1.
    """

    emitter_flow: float
    emitter_flow_source: str
    flow: float
    rate: float
    efficiency: float
    efficiency_source: str
    measured: bool


def _emitter_flow(bed: Bed) -> tuple[float, str]:
    """Return the flow of one emitter [L/h]: measured if there is a cup test, else from the printed figure."""
    if bed.cup_test is not None:
        mean = float(np.mean(bed.cup_test.volumes)) / bed.cup_test.minutes * MINUTES_PER_HOUR
        return mean, f"cup test of {bed.cup_test.on}, {len(bed.cup_test.volumes)} cups"
    line = bed.drip
    flow = emitter_flow(
        line.emitter_flow, bed.pressure, nominal_pressure=line.at_pressure, exponent=line.exponent
    )
    return float(flow), f'printed flow of drip line "{line.name}", not measured'


def _efficiency(bed: Bed) -> tuple[float, str]:
    """Return application efficiency: cup test, else the plan's, else design uniformity, else the usual."""
    if bed.cup_test is not None:
        return (
            low_quarter_uniformity(bed.cup_test.volumes),
            f"low-quarter uniformity of the cup test of {bed.cup_test.on}",
        )
    if bed.drip.efficiency is not None:
        return bed.drip.efficiency, f'stated in the plan for drip line "{bed.drip.name}"'
    if bed.drip.manufacturing_variation is not None:
        return (
            emission_uniformity(bed.drip.manufacturing_variation),
            "emission uniformity from manufacturing variation (Keller and Karmeli), equal pressure assumed",
        )
    return USUAL_DRIP_EFFICIENCY, "assumed: usual for drip, Colorado State Extension fact sheet 5.623"


def bed_supply(bed: Bed) -> BedSupply:
    """Return what a bed's drip line puts down, measured figures before stated before printed ones."""
    one, one_source = _emitter_flow(bed)
    efficiency, efficiency_source = _efficiency(bed)
    flow = one * bed.emitters
    return BedSupply(
        emitter_flow=one,
        emitter_flow_source=one_source,
        flow=flow,
        rate=float(application_rate(flow, bed.area)),
        efficiency=efficiency,
        efficiency_source=efficiency_source,
        measured=bed.cup_test is not None,
    )


def supply_arrays(garden: Garden) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Return area [m2], flow [L/h], rate [mm/h] and efficiency of every bed, each of shape (n_beds,)."""
    supplies = [bed_supply(bed) for bed in garden.beds]
    return (
        np.array([bed.area for bed in garden.beds]),
        np.array([supply.flow for supply in supplies]),
        np.array([supply.rate for supply in supplies]),
        np.array([supply.efficiency for supply in supplies]),
    )
