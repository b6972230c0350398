"""What a person should know of a blend: who gave which days, who disagrees, what is still missing."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from scheduler.weather.days import name_days
from scheduler.weather.layers import NOBODY, QUANTITIES, Layer
from scheduler.weather.record import BoolArray, DateArray

__all__ = ["blend_notes"]

# Common days from which on two parts are compared, and differences that are strong: means of a temperature
# [degC], sums of rain [mm] and their ratio. Judgement, no source.
_COMMON_DAYS = 10
_STRONG_TEMPERATURE = 3.0
_STRONG_RAIN = 20.0
_STRONG_RATIO = 1.5


def blend_notes(
    layers: Sequence[Layer],
    days: DateArray,
    *,
    givers: Mapping[str, NDArray[np.int64]],
    left_out: Mapping[str, BoolArray],
) -> tuple[str, ...]:
    """Return the notes of the layers and those on the blend.

    Parameters
    ----------
    layers : sequence of Layer
        The most trusted first.
    days : array of datetime64[D], shape (n_days,)
    givers : mapping of str to array of int, shape (n_days,)
        Quantity -> number of the layer that gave it, `NOBODY` where none did.
    left_out : mapping of str to array of bool, shape (n_days,)
        Quantity -> days on which it contradicted another part's.
    """
    own = [note for layer in layers for note in layer.notes]
    sources = {layer.source for layer in layers}
    told = [*_contradictions(days, left_out), *_gaps(days, givers)]
    if len(sources) > 1:
        told = [*_shares(layers, givers), *_superseded(layers), *_differences(layers), *told]
    return tuple(dict.fromkeys([*own, *told]))


def _days(number: int) -> str:
    return "1 day" if number == 1 else f"{number} days"


def _shares(layers: Sequence[Layer], givers: Mapping[str, NDArray[np.int64]]) -> Iterator[str]:
    """Yield how many days came from each part; quantities that came from elsewhere are told apart."""
    warm = givers["tmax"]
    for number, layer in enumerate(layers):
        kind = "foretold" if layer.forecast else "measured"
        count = int((warm == number).sum())
        if count:
            yield f"{_days(count)} {kind} by {layer.source}"
        for quantity in QUANTITIES:
            apart = (givers[quantity] == number) & (warm != number)
            if quantity != "tmax" and apart.any():
                yield f"{quantity} of {_days(int(apart.sum()))} {kind} by {layer.source}, unlike tmax"


def _superseded(layers: Sequence[Layer]) -> Iterator[str]:
    """Yield on how many days a measurement took the place of a forecast."""
    measured = [layer.dates[np.isfinite(layer.columns["tmax"])] for layer in layers if not layer.forecast]
    foretold = [layer.dates[np.isfinite(layer.columns["tmax"])] for layer in layers if layer.forecast]
    if measured and foretold:
        both = np.intersect1d(np.concatenate(measured), np.concatenate(foretold)).size
        if both:
            yield f"{_days(both)} that had been foretold are measured now, which counts"


def _differences(layers: Sequence[Layer]) -> Iterator[str]:
    """Yield parts that differ strongly on the days that both have."""
    for one, other in combinations(layers, 2):
        if one.source == other.source:
            continue
        _, here, there = np.intersect1d(one.dates, other.dates, assume_unique=True, return_indices=True)
        for name in ("tmax", "tmin"):
            apart = one.columns[name][here] - other.columns[name][there]
            apart = apart[np.isfinite(apart)]
            if apart.size >= _COMMON_DAYS and abs(apart.mean()) > _STRONG_TEMPERATURE:
                yield (
                    f"{name} of {one.source} and of {other.source} differ by {abs(apart.mean()):.1f} degC on "
                    f"the mean of {apart.size} days that both have; do both stand for the garden?"
                )
        rain, rain_there = one.columns["rain"][here], other.columns["rain"][there]
        both = np.isfinite(rain) & np.isfinite(rain_there)
        less, more = sorted((float(rain[both].sum()), float(rain_there[both].sum())))
        if both.sum() >= _COMMON_DAYS and more - less > _STRONG_RAIN and more > _STRONG_RATIO * less:
            yield (
                f"rain of {one.source} and of {other.source} differs: {rain[both].sum():.0f} and "
                f"{rain_there[both].sum():.0f} mm on {both.sum()} days that both have"
            )


def _contradictions(days: DateArray, left_out: Mapping[str, BoolArray]) -> Iterator[str]:
    for quantity, out in left_out.items():
        if out.any():
            named = name_days(days, out)
            yield f"{quantity} contradicts a more trusted part and is left out: {named}"


def _gaps(days: DateArray, givers: Mapping[str, NDArray[np.int64]]) -> Iterator[str]:
    """Yield the days that no part has."""
    nothing = np.logical_and.reduce([who == NOBODY for who in givers.values()])
    if nothing.any():
        yield f"no part has {_days(int(nothing.sum()))}: {name_days(days, nothing)}"
