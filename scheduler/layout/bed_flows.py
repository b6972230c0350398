"""What the emitters of each bed really give: pressures, flow, evenness. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from scheduler.drip.emitters import emission_uniformity, low_quarter_uniformity
from scheduler.drip.uniformity_classes import LARGEST_NEW_VARIATION
from scheduler.garden.plan import Bed, Garden
from scheduler.layout.network_of import NetworkArrays
from scheduler.layout.solved import Solved

__all__ = ["BedFlow", "bed_flows"]

# The low quarter of a handful is not one.
_LEAST_COUNT = 4


@dataclass(frozen=True, slots=True)
class BedFlow:
    """One bed while its whole zone runs.

    Attributes
    ----------
    lowest, mean, highest : float
        Pressure over its emitters [kPa].
    flow, printed : float
        Of the whole bed [L/h]: computed, and as printed at the pressure that the plan gives.
    least_share : float
        Flow of the weakest emitter over the mean flow.
    variation : float
        Manufacturing variation that was reckoned with.
    variation_stated : bool
        False if it was assumed.
    uniformity : float or None
        Emission uniformity EU (Keller and Karmeli); None if no water comes.
    low_quarter : float or None
        Low quarter of the computed flows, without manufacturing variation; None below four emitters or
        without water.
    """

    bed: str
    zone: str
    emitters: int
    lowest: float
    mean: float
    highest: float
    flow: float
    printed: float
    least_share: float
    variation: float
    variation_stated: bool
    uniformity: float | None
    low_quarter: float | None


def bed_flows(garden: Garden, arrays: NetworkArrays, runs: Mapping[str, Solved]) -> tuple[BedFlow, ...]:
    """Return every bed in plan order; `runs` holds zone -> that zone's run with all its valves open."""
    return tuple(_one(bed, arrays, runs[bed.zone]) for bed in garden.beds)


def _one(bed: Bed, arrays: NetworkArrays, run: Solved) -> BedFlow:
    pressure, flow = run.of_bed(arrays, bed.name)
    stated = bed.drip.manufacturing_variation
    variation = LARGEST_NEW_VARIATION if stated is None else stated
    mean = float(flow.mean())
    # Rounding may lift the least of equal flows over their mean.
    least = min(float(flow.min()) / mean, 1.0) if mean > 0.0 else 0.0
    share = (bed.pressure / bed.drip.at_pressure) ** bed.drip.exponent
    return BedFlow(
        bed=bed.name,
        zone=bed.zone,
        emitters=bed.emitters,
        lowest=float(pressure.min()),
        mean=float(pressure.mean()),
        highest=float(pressure.max()),
        flow=float(flow.sum()),
        printed=bed.emitters * bed.drip.emitter_flow * float(share),
        least_share=least,
        variation=variation,
        variation_stated=stated is not None,
        uniformity=emission_uniformity(variation, least_flow_share=least) if least > 0.0 else None,
        low_quarter=low_quarter_uniformity(np.asarray(flow))
        if flow.size >= _LEAST_COUNT and mean > 0.0
        else None,
    )
