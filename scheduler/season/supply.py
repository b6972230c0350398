"""What each bed's drip line puts down: flow, application rate, efficiency, and where each is from."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduler.drip.cup_evaluation import low_quarter_uncertainty, mean_flow_uncertainty
from scheduler.drip.emitters import (
    application_rate,
    emission_uniformity,
    emitter_flow,
    low_quarter_uniformity,
)
from scheduler.drip.flow_measurement import (
    DAY_VARIATION,
    bucket_volume_uncertainty,
    flow_in_time,
    metered_volume_uncertainty,
    shared_flow_uncertainty,
)
from scheduler.errors import Fault, PlanError
from scheduler.garden.plan import Bed, BedFlowTest, CupTest, Garden, Uncertainty
from scheduler.garden.units import System, format_quantity
from scheduler.layout.flows import GivenFlow, LayoutFlows, layout_flows

__all__ = ["BedSupply", "GardenSupply", "bed_supply", "garden_supply", "pressure_span", "supply_arrays"]

FloatArray = NDArray[np.float64]

#: Application efficiency of drip where the plan gives nothing to go by.
#: Colorado State University Extension fact sheet 5.623 (2019), quick facts: about 90 %.
USUAL_DRIP_EFFICIENCY = 0.90


@dataclass(frozen=True, slots=True)
class BedSupply:
    """One bed's water, in canonical units, with the source of each figure in words.

    `emitter_flow` [L/h], `flow` of the whole bed [L/h], `rate` [mm/h], `efficiency` 0..1. The two
    uncertainties are relative and standard. `measured` is True if the flow is; `pressures` are the least and
    the greatest at the emitters [kPa] of a flow that is computed from the layout, None of any other.
    """

    emitter_flow: float
    emitter_flow_source: str
    flow: float
    rate: float
    efficiency: float
    efficiency_source: str
    measured: bool
    pressures: tuple[float, float] | None
    flow_uncertainty: float
    flow_uncertainty_source: str
    efficiency_uncertainty: float
    efficiency_uncertainty_source: str


@dataclass(frozen=True, slots=True)
class GardenSupply:
    """The water of every bed, in plan order."""

    beds: tuple[BedSupply, ...]


@dataclass(frozen=True, slots=True)
class _Figure:
    """A figure, its relative standard uncertainty, and where both are from."""

    value: float
    source: str
    uncertainty: float
    uncertainty_source: str


def _leaning(usual: Uncertainty) -> str:
    """Return the source of the usual uncertainty of a flow, if it is not the plan's own word.

    The default is what ISO 9261 lets a sound emitter lie off.
    """
    return " (ISO 9261, from memory)" if usual.flow == Uncertainty().flow else ""


def _printed_flow(bed: Bed, usual: Uncertainty, why: str) -> _Figure:
    """Return the bed's flow [L/h] by the printed figure of its line; `why` the layout does not give it."""
    line = bed.drip
    flow = emitter_flow(
        line.emitter_flow, bed.pressure, nominal_pressure=line.at_pressure, exponent=line.exponent
    )
    return _Figure(
        float(flow) * bed.emitters,
        f'printed flow of drip line "{line.name}", not measured' + (f", not computed: {why}" if why else ""),
        usual.flow,
        f"printed: {usual.flow:.0%}{_leaning(usual)}",
    )


def _computed_flow(computed: GivenFlow, usual: Uncertainty) -> _Figure:
    """Return the bed's flow [L/h] by the pressures of the layout.

    What is left of its uncertainty is that of the printed curve; that of the pressure is gone.
    """
    return _Figure(
        computed.flow,
        f"computed from the layout, not measured: {_both_spans(computed)} at the emitters",
        usual.flow,
        f"computed: {usual.flow:.0%} of the printed curve{_leaning(usual)}, none of the pressure",
    )


def _both_spans(computed: GivenFlow) -> str:
    """Return the pressures at a bed's emitters in words, in both systems of units."""
    ends = (computed.lowest_pressure, computed.highest_pressure)
    return f"{pressure_span(ends, 'metric')} ({pressure_span(ends, 'us')})"


def pressure_span(ends: tuple[float, float], system: System) -> str:
    """Return the least and the greatest of pressures [kPa] in words, once if they show alike."""
    low, high = (format_quantity(end, "pressure", system) for end in ends)
    return high if low == high else f"{low.split()[0]} to {high}"


def _flow_by_cups(bed: Bed, test: CupTest) -> _Figure:
    """Return the bed's flow [L/h] by cups under some of its emitters."""
    cups = len(test.volumes)
    scatter = mean_flow_uncertainty(test.volumes, emitters=bed.emitters)
    return _Figure(
        test.emitter_flow * bed.emitters,
        f"cup test of {test.on}, {cups} cups",
        math.hypot(scatter, DAY_VARIATION),
        f"measured by {cups} cups: their scatter, reading, and the flow's change from day to day",
    )


def _flow_by_test(bed: Bed, test: BedFlowTest, usual: Uncertainty) -> _Figure:
    """Return the bed's flow [L/h] by water caught or metered of the whole bed, or of several together."""
    if test.method == "bucket":
        of_volume = bucket_volume_uncertainty(test.volume)
    else:
        of_volume = metered_volume_uncertainty(test.smallest_digit)
    whole, uncertainty = flow_in_time(test.volume, test.minutes, volume_uncertainty=of_volume)
    number = test.beds.index(bed.name)
    shared = float(shared_flow_uncertainty(test.shares, printed=usual.flow)[number])
    what = f"{test.method} test of {test.on}"
    together = len(test.beds) > 1
    return _Figure(
        test.flow_of(bed.name),
        f"{what}, {len(test.beds)} beds together, shared by printed flow"
        if together
        else f"{what}, the whole bed",
        math.hypot(uncertainty / whole, shared, DAY_VARIATION),
        f"measured by a {test.method} test: volume, watch"
        + (", the share of each bed" if together else "")
        + ", and the flow's change from day to day",
    )


def _flow(bed: Bed, usual: Uncertainty, computed: GivenFlow | None, why: str) -> _Figure:
    """Return the bed's flow [L/h]: measured before computed before printed, the newest measurement first."""
    test = bed.newest_test
    if isinstance(test, CupTest):
        return _flow_by_cups(bed, test)
    if isinstance(test, BedFlowTest):
        return _flow_by_test(bed, test, usual)
    return _printed_flow(bed, usual, why) if computed is None else _computed_flow(computed, usual)


def _efficiency(bed: Bed, usual: Uncertainty, computed: GivenFlow | None) -> _Figure:
    """Return application efficiency: cup test, else the plan's, else design uniformity, else the usual."""
    if bed.cup_test is not None:
        test = bed.cup_test
        return _Figure(
            low_quarter_uniformity(test.volumes),
            f"low-quarter uniformity of the cup test of {test.on}",
            low_quarter_uncertainty(test.volumes),
            f"measured by {len(test.volumes)} cups: their number, and uniformity taken for efficiency",
        )
    source = "judgement of the plan's uncertainty"
    if bed.drip.efficiency is not None:
        stated = f'stated in the plan for drip line "{bed.drip.name}"'
        return _Figure(bed.drip.efficiency, stated, usual.efficiency, source)
    # A bed that was measured has water, whatever its layout gives; then the layout tells nothing of evenness.
    share = None if computed is None or computed.dry else computed.least_share
    return _Figure(*_uniformity(bed.drip.manufacturing_variation, share), usual.efficiency, source)


def _uniformity(variation: float | None, share: float | None) -> tuple[float, str]:
    """Return design emission uniformity for efficiency, and its source.

    Parameters
    ----------
    variation : float or None
        Manufacturing variation of the emitters.
    share : float or None
        Least flow over mean flow by the pressures of the layout.
    """
    if variation is not None and share is not None:
        return (
            emission_uniformity(variation, least_flow_share=share),
            "emission uniformity from manufacturing variation and pressures computed from the layout "
            "(Keller and Karmeli)",
        )
    if variation is not None:
        return (
            emission_uniformity(variation),
            "emission uniformity from manufacturing variation (Keller and Karmeli), equal pressure assumed",
        )
    if share is not None and share < USUAL_DRIP_EFFICIENCY:
        return share, "least flow over mean flow computed from the layout, all emitters taken for alike"
    return USUAL_DRIP_EFFICIENCY, "assumed: usual for drip, Colorado State Extension fact sheet 5.623"


def bed_supply(
    bed: Bed, *, usual: Uncertainty | None = None, computed: GivenFlow | None = None, why: str = ""
) -> BedSupply:
    """Return what a bed's drip line puts down: measured figures before computed before printed ones.

    Parameters
    ----------
    bed : Bed
    usual : Uncertainty or None
        What holds of figures that are not measured; None for the plan's defaults.
    computed : GivenFlow or None
        What the layout gives it; None without a layout.
    why : str
        Why a layout gives nothing; empty without a layout.
    """
    usual = Uncertainty() if usual is None else usual
    measured = bed.newest_test is not None
    flow, efficiency = _flow(bed, usual, computed, why), _efficiency(bed, usual, computed)
    return BedSupply(
        emitter_flow=flow.value / bed.emitters,
        emitter_flow_source=flow.source,
        flow=flow.value,
        rate=float(application_rate(flow.value, bed.area)),
        efficiency=efficiency.value,
        efficiency_source=efficiency.source,
        measured=measured,
        pressures=None
        if measured or computed is None
        else (computed.lowest_pressure, computed.highest_pressure),
        flow_uncertainty=flow.uncertainty,
        flow_uncertainty_source=flow.uncertainty_source,
        efficiency_uncertainty=efficiency.uncertainty,
        efficiency_uncertainty_source=efficiency.uncertainty_source,
    )


def garden_supply(garden: Garden) -> tuple[BedSupply, ...]:
    """Return the water of every bed in plan order; a layout is solved once and kept with its plan.

    Raises
    ------
    PlanError
        If the layout leaves emitters dry in a bed whose flow was not measured; all such beds are told.
    """
    return garden.kept.of(GardenSupply, lambda: _garden_supply(garden)).beds


def _garden_supply(garden: Garden) -> GardenSupply:
    given = LayoutFlows() if garden.layout is None else layout_flows(garden)
    computed = given.beds or (None,) * len(garden.beds)
    pairs = list(zip(garden.beds, computed, strict=True))
    if faults := [_dry_fault(bed, flow) for bed, flow in pairs if flow and flow.dry and not bed.newest_test]:
        raise PlanError(garden.name, faults)
    return GardenSupply(
        tuple(
            bed_supply(bed, usual=garden.uncertainty, computed=flow, why=given.reason) for bed, flow in pairs
        )
    )


def _dry_fault(bed: Bed, computed: GivenFlow) -> Fault:
    return Fault(
        f'bed "{bed.name}"',
        f"by the layout {computed.dry} of its {bed.emitters} emitters get no water, at "
        f"{_both_spans(computed)}",
        "lower its rim, give it more pressure or shorter and wider tube, or measure its flow and write that "
        "down",
    )


def supply_arrays(garden: Garden) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Return area [m2], flow [L/h], rate [mm/h] and efficiency of every bed, each of shape (n_beds,)."""
    supplies = garden_supply(garden)
    return (
        np.array([bed.area for bed in garden.beds]),
        np.array([supply.flow for supply in supplies]),
        np.array([supply.rate for supply in supplies]),
        np.array([supply.efficiency for supply in supplies]),
    )
