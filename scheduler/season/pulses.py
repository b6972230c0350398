"""How long a run may be before a bed's soil can no longer take or hold its water, and the pause after it.

Pure. More water than the root zone lacks only drains; the planner's balance sees to that, no limit here does.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler.garden.plan import Garden
from scheduler.season.ground import drip_wetted_share
from scheduler.season.supply import supply_arrays

__all__ = ["PONDING_DEPTH", "SOAK_PER_MINUTE", "PulseLimits", "longest_until_ponding", "pulse_limits"]

FloatArray = NDArray[np.float64]

#: Water that a level bed holds on its surface before it runs along the surface or down the boards [mm].
#: Judgement, no source: half a centimetre in the hollows of loose soil.
PONDING_DEPTH = 5.0

#: Minutes of pause for each minute of a run that goes through a bed, as in 10 min on and 20 min off.
#: Judgement after what is commonly advised for dry peaty mixes, from memory.
SOAK_PER_MINUTE = 2.0

MINUTES_PER_HOUR = 60.0

Reason = Literal["", "ponds", "runs through"]


@dataclass(frozen=True, slots=True, eq=False)
class PulseLimits:
    """What the soil of each bed allows one run, in the plan's order of beds.

    Attributes
    ----------
    longest : array, shape (n_beds,)
        Longest run [min]; infinite where nothing limits it.
    soak : array, shape (n_beds,)
        Pause that a run of that length needs before the next [min]; 0 where nothing limits it.
    reasons : tuple of str, one per bed
        What limits it: 'ponds' (water comes faster than the mix takes it in), 'runs through' (it was seen to
        come out at the bottom), or nothing.
    strip_rate : array, shape (n_beds,)
        Application rate over the strip that drip wets [mm/h].
    """

    longest: FloatArray
    soak: FloatArray
    reasons: tuple[Reason, ...]
    strip_rate: FloatArray

    def of_beds(self, index: ArrayLike) -> tuple[float, float]:
        """Return the longest run of beds that run together and the pause that they need [min].

        `index` are the places of the beds; the run of none has no limit.
        """
        places = np.asarray(index, dtype=np.int64)
        return float(self.longest[places].min(initial=math.inf)), float(self.soak[places].max(initial=0.0))


def longest_until_ponding(rate: ArrayLike, intake: ArrayLike) -> FloatArray:
    """Return the time [min] until water stands `PONDING_DEPTH` deep; infinite where the soil keeps up.

    The form is that of the rule for sprinklers, depth that the surface holds over rate less intake, from
    memory.

    Parameters
    ----------
    rate : array_like
        Application rate over the wetted strip [mm/h].
    intake : array_like
        How fast the soil takes in water [mm/h].
    """
    surplus = np.asarray(rate, dtype=float) - np.asarray(intake, dtype=float)
    return np.divide(
        MINUTES_PER_HOUR * PONDING_DEPTH, surplus, out=np.full(surplus.shape, math.inf), where=surplus > 0.0
    )


def pulse_limits(garden: Garden) -> PulseLimits:
    """Return what the soil of each bed allows one run; a bed of which the plan tells nothing has no limit.

    The water left standing must sink in before the next run; what ran through needs `SOAK_PER_MINUTE`. If
    both limits hold for a bed, the shorter run is taken, and the longer pause after it. A pause at least as
    long as the run is left to the placing, which keeps it always.
    """
    _, _, rate, _ = supply_arrays(garden)
    strip = rate / np.array([drip_wetted_share(bed)[0] for bed in garden.beds])
    intake = np.array([math.inf if (r := bed.soil.intake_rate) is None else r for bed in garden.beds])
    through = np.array(
        [math.inf if (after := bed.runs_through_after) is None else after for bed in garden.beds]
    )
    ponding = longest_until_ponding(strip, intake)
    longest = np.minimum(ponding, through)
    soak = np.zeros_like(longest)
    ponds, runs = np.isfinite(ponding), np.isfinite(through)
    # What stands after a run of m minutes is (rate - intake) m, and it sinks in at the intake rate.
    soak[ponds] = longest[ponds] * (strip - intake)[ponds] / intake[ponds]
    soak[runs] = np.maximum(soak, SOAK_PER_MINUTE * longest)[runs]
    reasons: list[Reason] = [
        "" if not math.isfinite(most) else "ponds" if until <= most else "runs through"
        for most, until in zip(longest, ponding, strict=True)
    ]
    return PulseLimits(longest, soak, tuple(reasons), strip)
