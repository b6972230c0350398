"""Several records of one place -> one, the best of each day: measured before foretold. Pure."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from scheduler.errors import Fault, WeatherError
from scheduler.weather.blend_notes import blend_notes
from scheduler.weather.layers import NOBODY, QUANTITIES, Layer, Part, layers_of
from scheduler.weather.record import VARIABLES, BoolArray, DateArray, FloatArray, WeatherRecord

__all__ = ["blend"]

Givers = dict[str, NDArray[np.int64]]

#: Room for a dew point and a temperature that were read by different sensors [degC].
_DEW_POINT_SLACK = 0.5
_ONE_DAY = np.timedelta64(1, "D")


def blend(parts: Sequence[Part], *, wind_height: float | None = None) -> WeatherRecord:
    """Return one record of several: on each day each quantity comes from the best part that has it.

    A gauge comes before a station and both before any forecast, whatever the order of `parts`; a newer
    forecast comes before an older one. So a forecast gives way as soon as its day has been measured. Where
    quantities of two parts contradict each other (tmin above tmax, a dew point above tmax), that of the
    less trusted part is left out.

    Parameters
    ----------
    parts : sequence of Part
    wind_height : float or None
        Height [m] that all wind is converted to (FAO-56 Eq. 47); None to keep the one height of all parts.

    Returns
    -------
    WeatherRecord
        Every day from the first to the last of all parts. `forecast` is true where tmax or tmin is
        foretold; a day without either goes by what else it has, one with nothing by the day before. The
        notes tell how many days each part gave, which parts differ strongly, and the gaps.

    Raises
    ------
    WeatherError
        If there is no part, or if wind is of an unknown height, or of several and no `wind_height` is given.
    """
    if not parts:
        raise WeatherError("weather", [Fault("", "no record at all", "at least one")])
    _check_heights(parts, wind_height)
    layers = sorted(
        (layer for part in parts for layer in layers_of(part, wind_height)), key=lambda x: x.trust
    )
    days = _all_days(layers)
    values = {name: np.full(days.size, np.nan) for name in VARIABLES}
    givers: Givers = {quantity: np.full(days.size, NOBODY) for quantity in QUANTITIES}
    # rh_min alone says nothing of humidity: another part's may come before it, and else it is kept.
    for weak in (False, True):
        for number, layer in enumerate(layers):
            _lay(layer, number, days=days, values=values, givers=givers, weak=weak)
    left_out = _without_contradictions(values, givers)
    used = [
        layer for number, layer in enumerate(layers) if any((who == number).any() for who in givers.values())
    ]
    return WeatherRecord(
        dates=days,
        values=values,
        forecast=_flags(givers, layers),
        source=", ".join(dict.fromkeys(layer.source for layer in used or layers)),
        attribution="; ".join(
            dict.fromkeys(layer.attribution for layer in used or layers if layer.attribution)
        ),
        notes=blend_notes(layers, days, givers=givers, left_out=left_out),
    )


def _check_heights(parts: Sequence[Part], wanted: float | None) -> None:
    """Refuse wind whose height is not known, or not the same, where that matters."""
    windy = [part for part in parts if part.record.has("wind")]
    heights = {part.wind_height for part in windy}
    if len(heights) <= 1 and (wanted is None or heights <= {wanted}):
        return
    faults = [
        Fault(
            f"wind of {part.record.source}", "the height of its sensor is not known", 'wind_height = "10 m"'
        )
        for part in windy
        if part.wind_height is None
    ]
    if not faults and wanted is None:
        found = " and ".join(f"{height:g} m" for height in sorted(h for h in heights if h is not None))
        faults = [Fault("wind", f"measured at {found}", "one height that all is to be converted to")]
    if faults:
        raise WeatherError("weather", faults)


def _all_days(layers: Sequence[Layer]) -> DateArray:
    """Return every day from the first to the last of all layers."""
    first = min(layer.dates[0] for layer in layers)
    last = max(layer.dates[-1] for layer in layers)
    return np.arange(first, last + _ONE_DAY, dtype="datetime64[D]")


def _lay(
    layer: Layer,
    number: int,
    *,
    days: DateArray,
    values: dict[str, FloatArray],
    givers: Givers,
    weak: bool,
) -> None:
    """Put the quantities of a layer where no better one has given them."""
    place = np.searchsorted(days, layer.dates)
    for quantity, names in QUANTITIES.items():
        counting = names if weak else tuple(name for name in names if name != "rh_min")
        there = np.logical_or.reduce([np.isfinite(layer.columns[name]) for name in counting])
        taken = there & (givers[quantity][place] == NOBODY)
        givers[quantity][place[taken]] = number
        for name in names:
            values[name][place[taken]] = layer.columns[name][taken]


def _without_contradictions(values: dict[str, FloatArray], givers: Givers) -> dict[str, BoolArray]:
    """Take out quantities that contradict those of a better layer; return on which days, by quantity."""
    left_out = {quantity: np.zeros(who.size, dtype=bool) for quantity, who in givers.items()}
    for low, high, name, slack in (
        ("tmin", "tmax", "tmin", 0.0),
        ("humidity", "tmax", "dew_point", _DEW_POINT_SLACK),
    ):
        crossed = (values[name] > values["tmax"] + slack) & (givers[low] != givers[high])
        worse = {low: crossed & (givers[low] > givers[high]), high: crossed & (givers[high] > givers[low])}
        for quantity, out in worse.items():
            left_out[quantity] |= out
            for variable in QUANTITIES[quantity]:
                values[variable][out] = np.nan
            givers[quantity][out] = NOBODY
    return left_out


def _flags(givers: Givers, layers: Sequence[Layer]) -> BoolArray:
    """Return which days are foretold, shape (n_days,)."""
    # One place more, for nobody: it stands last and is found by -1.
    foretold = np.array([*(layer.forecast for layer in layers), False])
    by_temperature = foretold[givers["tmax"]] | foretold[givers["tmin"]]
    warm = (givers["tmax"] != NOBODY) | (givers["tmin"] != NOBODY)
    others = np.stack([who for quantity, who in givers.items() if quantity not in ("tmax", "tmin")])
    known = (others != NOBODY).any(axis=0)
    by_others = known & (foretold[others] | (others == NOBODY)).all(axis=0)
    own = np.where(warm, by_temperature, by_others)
    # A day with nothing is what the last day with something was.
    last = np.maximum.accumulate(np.where(warm | known, np.arange(own.size), 0))
    return np.asarray(own[last])
