"""What would make a layout unsolvable: refused with every fault at once."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from scheduler.drip.network import Network
from scheduler.errors import Fault, NetworkError

__all__ = ["check_network"]

#: Largest exponent met: a hand-made emitter came to 1.04.
_LARGEST_EXPONENT = 1.5


def check_network(network: Network) -> None:
    """Return if the layout can be solved.

    Raises
    ------
    NetworkError
        With every fault; pipes, emitters, parts and regulators are named by their place, counted from 0.
    """
    faults = [
        *_source_faults(network),
        *_node_faults(network),
        *_pipe_faults(network),
        *_emitter_faults(network),
        *_part_faults(network),
        *_regulator_faults(network),
    ]
    if faults:
        raise NetworkError("layout", faults)


def _each(
    kind: str, what: str, values: NDArray[np.generic], wrong: NDArray[np.bool_], wanted: str
) -> Iterator[Fault]:
    for place in np.flatnonzero(wrong):
        yield Fault(f"{kind} {place}", f"{what} is {values[place]}", wanted)


def _positive(kind: str, what: str, values: NDArray[np.float64], unit: str) -> Iterator[Fault]:
    wrong = ~(np.isfinite(values) & (values > 0.0))
    yield from _each(kind, what, values, wrong, f"give {what} above zero, in {unit}")


def _not_negative(kind: str, what: str, values: NDArray[np.float64], unit: str) -> Iterator[Fault]:
    wrong = ~(np.isfinite(values) & (values >= 0.0))
    yield from _each(kind, what, values, wrong, f"give {what} of zero or more, {unit}")


def _places(kind: str, what: str, nodes: NDArray[np.intp], count: int) -> Iterator[Fault]:
    wrong = (nodes < 0) | (nodes >= count)
    yield from _each(kind, what, nodes, wrong, f"name one of the nodes 0 to {count - 1}")


def _ends(kind: str, start: NDArray[np.intp], end: NDArray[np.intp], count: int) -> Iterator[Fault]:
    yield from _places(kind, "start", start, count)
    yield from _places(kind, "end", end, count)
    yield from _each(kind, "start and end", start, start == end, "join two different nodes")


def _source_faults(network: Network) -> Iterator[Fault]:
    source, count = network.source, network.elevation.size
    if not 0 <= source.node < count:
        yield Fault("source", f"its node is {source.node}", f"name one of the nodes 0 to {count - 1}")
    if not (np.isfinite(source.static_pressure) and source.static_pressure >= 0.0):
        yield Fault(
            "source",
            f"static pressure is {source.static_pressure}",
            "give zero or more, in kPa, with no flow",
        )
    if not source.open_flow > 0.0:
        yield Fault(
            "source",
            f"flow into an open bucket is {source.open_flow}",
            "give it above zero, in L/h, or leave it out for a pressure that does not fall",
        )
    if not (np.isfinite(network.viscosity) and network.viscosity > 0.0):
        yield Fault(
            "water", f"viscosity is {network.viscosity}", "give it above zero, in m2/s: 1e-6 at 20 degC"
        )


def _node_faults(network: Network) -> Iterator[Fault]:
    wrong = ~np.isfinite(network.elevation)
    yield from _each("node", "elevation", network.elevation, wrong, "give its height in m")


def _pipe_faults(network: Network) -> Iterator[Fault]:
    pipes = network.pipes
    yield from _ends("pipe", pipes.start, pipes.end, network.elevation.size)
    yield from _positive("pipe", "length", pipes.length, "m")
    yield from _positive("pipe", "inside diameter", pipes.inside_diameter, "mm")
    yield from _not_negative("pipe", "roughness", pipes.roughness, "in mm: 0.0015 for smooth plastic")
    yield from _not_negative("pipe", "minor loss", pipes.minor_loss, "the sum of K of its fittings")


def _emitter_faults(network: Network) -> Iterator[Fault]:
    emitters = network.emitters
    yield from _places("emitter", "node", emitters.node, network.elevation.size)
    yield from _positive("emitter", "nominal flow", emitters.nominal_flow, "L/h")
    yield from _positive("emitter", "nominal pressure", emitters.nominal_pressure, "kPa")
    x, low, high = emitters.exponent, emitters.min_pressure, emitters.max_pressure
    wrong = ~((x >= 0.0) & (x <= _LARGEST_EXPONENT))
    yield from _each("emitter", "exponent", x, wrong, f"give x within 0 to {_LARGEST_EXPONENT}")
    yield from _not_negative("emitter", "least pressure of its range", low, "in kPa")
    wrong = ~(high > low)
    yield from _each(
        "emitter", "greatest pressure of its range", high, wrong, "give more than the least, in kPa"
    )
    opening = emitters.opening_pressure
    wrong = ~((opening >= 0.0) & ((opening < low) | ((opening == 0.0) & (low == 0.0))))
    yield from _each(
        "emitter", "opening pressure", opening, wrong, "give less than the least of its range, in kPa"
    )


def _part_faults(network: Network) -> Iterator[Fault]:
    parts = network.parts
    yield from _ends("part", parts.start, parts.end, network.elevation.size)
    yield from _not_negative("part", "loss", parts.loss, "in kPa")
    yield from _positive("part", "flow of its stated loss", parts.at_flow, "L/h")


def _regulator_faults(network: Network) -> Iterator[Fault]:
    regulators = network.regulators
    yield from _ends("regulator", regulators.start, regulators.end, network.elevation.size)
    yield from _not_negative("regulator", "set pressure", regulators.set_pressure, "in kPa")
    yield from _not_negative("regulator", "loss", regulators.loss, "in kPa, of the open regulator")
    yield from _positive("regulator", "flow of its stated loss", regulators.at_flow, "L/h")
    into, times = np.unique(regulators.end, return_counts=True)
    for node in into[times > 1]:
        yield Fault(f"node {node}", "has several regulators before it", "let one regulator set its pressure")
    for place in np.flatnonzero(regulators.end == network.source.node):
        yield Fault(f"regulator {place}", "ends at the source", "place it behind the source")
