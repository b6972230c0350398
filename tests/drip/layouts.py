"""Invented layouts of drip line, made by chance from a seed."""

import numpy as np

from scheduler.drip.network import (
    Network,
    Source,
    make_emitters,
    make_parts,
    make_pipes,
    make_regulators,
)
from scheduler.drip.network_solve import solve_network

__all__ = ["VISCOSITY", "lateral", "make_layout", "make_rough_layout"]

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


def _rough_curve(rng: np.random.Generator, count: int) -> dict[str, object]:
    """Return ordinary emitters, compensating ones, or both kinds."""
    kind = rng.integers(3)
    if kind == 0:
        return {"exponent": rng.choice([0.0, 0.02, 0.05, 0.5, 0.7, 1.0], count)}
    ranged = rng.random(count) < kind / 2
    return {
        "exponent": np.where(ranged, 0.0, 0.5),
        "opening_pressure": np.where(ranged, 20.0, 0.0),
        "min_pressure": np.where(ranged, 60.0, 0.0),
        "max_pressure": np.where(ranged, 300.0, np.inf),
    }


def make_rough_layout(seed: int) -> Network:
    """Return a layout as no one would lay it: far too long or too high, cross-joined, or on a weak tap."""
    rng = np.random.default_rng(seed)
    nodes = int(rng.integers(8, 160))
    start = [int(rng.integers(max(0, node - 4), node)) for node in range(1, nodes)]
    end = list(range(1, nodes))
    for _ in range(int(rng.integers(0, 6))):
        one, other = rng.choice(nodes, 2, replace=False)
        start.append(int(one))
        end.append(int(other))
    start, end = np.array(start), np.array(end)
    special = rng.choice(np.arange(1, nodes - 1), int(rng.integers(0, 6)), replace=False)
    regulators, parts = special[:3], special[3:]
    pipes = np.setdiff1d(np.arange(start.size), special)
    count = int(rng.integers(1, nodes))
    return Network(
        rng.uniform(-1.0, 1.0, nodes) * rng.choice([0.0, 0.3, 2.0, 8.0]),
        Source(
            0, rng.choice([0.0, 3.0, 20.0, 100.0, 250.0, 500.0]), rng.choice([np.inf, 2000.0, 300.0, 50.0])
        ),
        make_pipes(
            start[pipes],
            end[pipes],
            length=rng.choice([0.1524, 0.3, 3.0, 20.0], pipes.size),
            inside_diameter=rng.choice([2.5, 4.3, 13.0, 15.24], pipes.size),
            minor_loss=rng.choice([0.0, 1.5, 6.0], pipes.size),
            is_open=rng.random(pipes.size) < rng.choice([0.97, 1.0]),
        ),
        make_emitters(
            rng.choice(nodes, count),
            rng.choice([1.9, 3.8, 8.0], count),
            nominal_pressure=100.0,
            **_rough_curve(rng, count),
        ),
        VISCOSITY,
        parts=make_parts(start[parts], end[parts], loss=rng.choice([0.0, 10.0, 50.0]), at_flow=500.0),
        regulators=make_regulators(
            start[regulators],
            end[regulators],
            set_pressure=rng.choice([70.0, 100.0, 170.0, 300.0], regulators.size),
            loss=rng.choice([0.0, 20.0]),
            at_flow=1000.0,
        ),
    )
