"""How long a run of drip line may be before its emitters differ too much. Pure."""

from __future__ import annotations

import numpy as np

from scheduler.drip.friction import kinematic_viscosity
from scheduler.drip.network import Network, Source, make_emitters, make_pipes
from scheduler.drip.network_solve import solve_network
from scheduler.errors import RillbookError
from scheduler.garden.plan import DripLine

__all__ = ["MOST_EMITTERS", "flow_spread", "longest_run"]

#: Runs are not tried beyond so many emitters.
MOST_EMITTERS = 512
_MM = 1000.0


def flow_spread(drip: DripLine, emitters: int, *, pressure: float, temperature: float) -> float:
    """Return how far the flows of a level run differ: (greatest - least) / greatest, 0..1.

    Parameters
    ----------
    emitters : int
        Along the run, the first one spacing from its inlet.
    pressure : float
        At the inlet [kPa].
    temperature : float
        Of the water [degC].

    Raises
    ------
    RillbookError
        If the line's inside diameter is not known.
    """
    if drip.inside_diameter is None:
        raise RillbookError(f'drip line "{drip.name}" has no inside diameter; write what its leaflet prints')
    low, high, opens = drip.lowest_pressure, drip.highest_pressure, drip.opening_pressure
    nodes = np.arange(emitters + 1)
    network = Network(
        elevation=np.zeros(emitters + 1),
        source=Source(0, pressure),
        pipes=make_pipes(
            nodes[:-1], nodes[1:], length=drip.emitter_spacing, inside_diameter=drip.inside_diameter * _MM
        ),
        emitters=make_emitters(
            nodes[1:],
            drip.emitter_flow,
            nominal_pressure=drip.at_pressure,
            exponent=drip.exponent,
            opening_pressure=0.0 if low is None else min(opens or 0.0, 0.99 * low),
            min_pressure=0.0 if low is None else low,
            max_pressure=np.inf if high is None else high,
        ),
        viscosity=kinematic_viscosity(temperature),
    )
    flow = solve_network(network).emitter_flow
    greatest = float(flow.max())
    return 1.0 if greatest <= 0.0 else float(greatest - flow.min()) / greatest


def longest_run(drip: DripLine, *, pressure: float, spread: float, temperature: float) -> float:
    """Return the longest level run [m] whose flows differ by at most `spread`.

    Never less than one spacing, never more than `MOST_EMITTERS` of them. The spread grows with the length, so
    that halving finds it.

    Raises
    ------
    RillbookError
        If the line's inside diameter is not known.
    """
    low, high = 1, MOST_EMITTERS + 1
    while high - low > 1:
        middle = (low + high) // 2
        if flow_spread(drip, middle, pressure=pressure, temperature=temperature) <= spread:
            low = middle
        else:
            high = middle
    return low * drip.emitter_spacing
