"""Invented layouts of drip line, made by chance from a seed."""

import numpy as np

from scheduler.drip.network import Network, Source, make_emitters, make_pipes
from scheduler.drip.network_solve import solve_network

__all__ = ["VISCOSITY", "lateral", "make_layout"]

VISCOSITY = 1.004e-6  # m2/s, water of 20 degC


def lateral(
    count: int,
    *,
    spacing: float = 0.3,
    inside_diameter: float = 4.3,
    source: Source | None = None,
    viscosity: float = VISCOSITY,
    **emitter: object,
) -> Network:
    """Return one level run with an emitter every `spacing` m, the tap at node 0."""
    curve = {"nominal_flow": 2.0, "nominal_pressure": 100.0, "exponent": 0.5} | emitter
    return Network(
        np.zeros(count + 1),
        source or Source(0, 100.0),
        make_pipes(range(count), range(1, count + 1), length=spacing, inside_diameter=inside_diameter),
        make_emitters(range(1, count + 1), **curve),
        viscosity,
    )


def _drawn_layout(rng: np.random.Generator) -> Network:
    """Return a garden of a main line with runs, some closed into rings, some valves shut."""
    start, end, bore, length, k, node = [], [], [], [], [], [0]

    def lay(before: int, metres: float, millimetres: float, loss: float) -> int:
        start.append(before)
        end.append(node[0] + 1)
        length.append(metres)
        bore.append(millimetres)
        k.append(loss)
        node[0] += 1
        return node[0]

    main, emitting = 0, []
    for _ in range(int(rng.integers(1, 6))):
        main = lay(main, rng.uniform(0.5, 15.0), rng.choice([13.2, 15.24]), rng.choice([0.0, 0.9, 1.8]))
        bed = lay(main, rng.uniform(0.3, 1.5), 15.24, rng.choice([2.0, 6.0]))
        for _ in range(int(rng.integers(1, 4))):
            at = bed
            for _ in range(int(rng.integers(2, 16))):
                at = lay(at, rng.choice([0.1524, 0.2286, 0.3048]), 4.3, 0.0)
                emitting.append(at)
            if rng.random() < 0.4:
                start.append(at)
                end.append(bed)
                length.append(0.3)
                bore.append(4.3)
                k.append(1.5)
    is_open = np.ones(len(start), dtype=bool)
    if rng.random() < 0.5:
        is_open[rng.choice(len(start), int(rng.integers(1, 4)))] = False
    elevation = rng.uniform(0.0, 0.8, node[0] + 1) * rng.choice([0.0, 1.0])
    shuffled = rng.permutation(node[0] + 1)
    return Network(
        elevation,
        Source(int(shuffled[0]), rng.uniform(80.0, 200.0)),
        make_pipes(
            shuffled[start],
            shuffled[end],
            length=length,
            inside_diameter=bore,
            minor_loss=k,
            is_open=is_open,
        ),
        make_emitters(
            shuffled[emitting],
            rng.choice([1.9, 2.3, 3.8], len(emitting)),
            nominal_pressure=100.0,
            exponent=rng.choice([0.1, 0.3, 0.46, 0.5, 0.7, 1.0]),
        ),
        rng.choice([0.893e-6, 1.004e-6, 1.307e-6]),
    )


def make_layout(seed: int) -> Network:
    """Return a layout whose emitters with water all have pressure, for else the laws of solvers differ."""
    rng = np.random.default_rng(seed)
    while True:
        network = _drawn_layout(rng)
        pressure = solve_network(network).pressure
        if np.nanmin(pressure) > 5.0 and np.isfinite(pressure).sum() > 5:
            return network
