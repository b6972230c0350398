"""Reference ET kept in a ledger, so that days whose inputs have not changed need no computing again.

Every kept day carries a hash of all that its values came from; with any of it changed, the day is computed
anew. A day that is filled from other days goes by all days of the record.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from hashlib import sha256
from typing import TYPE_CHECKING

import numpy as np

from scheduler import __version__
from scheduler.garden.plan import Site, WeatherChoice
from scheduler.ledger.entries import ReferenceEt
from scheduler.weather.doubts import add_doubts, hemisphere_note
from scheduler.weather.findings import Findings
from scheduler.weather.quality import clip_humidity
from scheduler.weather.record import VARIABLES, BoolArray, DailyWeather, WeatherRecord

if TYPE_CHECKING:
    from scheduler.ledger.reading import LedgerReader
    from scheduler.ledger.store import Ledger

__all__ = ["daily_from_store", "inputs_hashes", "store_reference_et"]

_LENGTH = 32
_COLUMNS = {
    "reference_et": "reference_et_mm",
    "rain": "rain_mm",
    "wind_2m": "wind_2m_m_s",
    "rh_min": "rh_min_pct",
    "tmax": "tmax_c",
    "tmin": "tmin_c",
}


def inputs_hashes(record: WeatherRecord, site: Site, choice: WeatherChoice) -> tuple[str, ...]:
    """Return for each day a hash of what its reference ET is computed from.

    It stands for the day's values, whether they are foretold, the site, the height of the wind, what the
    plan lets be filled and how, and the version of this program.
    """
    record = clip_humidity(record)
    settings = (
        __version__,
        *(site.latitude, site.elevation),
        *(choice.wind_height, choice.gaps, choice.humidity, choice.dew_point_below_tmin),
        *(choice.radiation, choice.radiation_site, choice.wind, choice.rain, choice.method),
    )
    head = repr(settings).encode()
    # One bit pattern for every NaN, and for both zeros.
    columns = [record.values[name] + 0.0 for name in VARIABLES]
    table = np.stack([np.where(np.isnan(column), np.nan, column) for column in columns], axis=1)
    rows = [row.tobytes() for row in table.astype("<f8")]
    days = [f"{day} {int(flag)}".encode() for day, flag in zip(record.dates, record.forecast, strict=True)]
    whole = sha256(b"".join([head, *days, *rows])).digest()
    filled = _filled_from_others(record, choice)
    return tuple(
        sha256(b"|".join([head, day, row, whole if borrowed else b""])).hexdigest()[:_LENGTH]
        for day, row, borrowed in zip(days, rows, filled, strict=True)
    )


def _filled_from_others(record: WeatherRecord, choice: WeatherChoice) -> BoolArray:
    """Return which days lack something that only other days can fill, shape (n_days,)."""
    missing = {name: np.isnan(column) for name, column in record.values.items()}
    borrowed = missing["tmax"] | missing["tmin"]
    if choice.rain == "refuse":
        borrowed |= missing["rain"]
    if choice.method == "temperature only":
        return borrowed
    if choice.humidity == "refuse":
        borrowed |= missing["dew_point"] & missing["rh_max"] & missing["rh_mean"]
    if choice.radiation == "refuse":
        borrowed |= missing["solar_radiation"] & missing["sunshine"]
    if choice.wind is None:
        borrowed |= missing["wind"]
    return borrowed


def daily_from_store(
    reader: LedgerReader, record: WeatherRecord, site: Site, choice: WeatherChoice
) -> DailyWeather | None:
    """Return the complete days of a record as the ledger keeps them, or None if one is missing or changed.

    Neither pandas nor pyet is loaded. The notes are those of `prepare_weather` but for the look at the
    radiation and the rule of each estimate, which were told when the days were kept.

    Raises
    ------
    LedgerError
        If the ledger cannot be read.
    """
    record = clip_humidity(record)
    kept = [row.entry for row in reader.reference_et_between(record.dates[0].item(), record.dates[-1].item())]
    if [day.date for day in kept] != record.dates.tolist():
        return None
    if [day.inputs_hash for day in kept] != list(inputs_hashes(record, site, choice)):
        return None
    columns = {
        name: np.array([getattr(day, field) for day in kept], dtype=float) for name, field in _COLUMNS.items()
    }
    estimated = _estimated(kept)
    return DailyWeather(
        dates=record.dates,
        **columns,
        forecast=record.forecast,
        estimated=estimated,
        source=record.source,
        attribution=record.attribution,
        notes=(*record.notes, *_notes(record, site), *_estimates(estimated, len(kept))),
    )


def _estimated(kept: Sequence[ReferenceEt]) -> dict[str, BoolArray]:
    """Return which days rest on an estimate, by what was estimated."""
    marks = [day.estimated.split(", ") if day.estimated else [] for day in kept]
    keys = dict.fromkeys(key for mark in marks for key in mark)
    return {key: np.array([key in mark for mark in marks], dtype=bool) for key in keys}


def _notes(record: WeatherRecord, site: Site) -> list[str]:
    findings = Findings()
    add_doubts(record, site, findings=findings, sun=False)
    warning = hemisphere_note(record, site.latitude)
    return [*findings.notes, *([] if warning is None else [warning])]


def _estimates(estimated: dict[str, BoolArray], n_days: int) -> list[str]:
    return [
        f"estimated: {key} on {flags.sum()} of {n_days} days, by the rule that the plan states"
        for key, flags in estimated.items()
    ]


def store_reference_et(
    ledger: Ledger, daily: DailyWeather, hashes: Sequence[str], recorded_at: datetime
) -> int:
    """Keep the days of which the ledger does not have the same hash; return how many these were.

    Parameters
    ----------
    ledger : Ledger
    daily : DailyWeather
    hashes : sequence of str
        Of its days, as `inputs_hashes` gives them for the record that it was made from.
    recorded_at : datetime
        Aware.

    Raises
    ------
    LedgerError
        If the ledger cannot be written; then none of the days is kept.
    """
    first, last = daily.dates[0].item(), daily.dates[-1].item()
    with ledger.writing():
        known = {row.entry.date: row.entry.inputs_hash for row in ledger.reference_et_between(first, last)}
        changed = [i for i, day in enumerate(daily.dates.tolist()) if known.get(day) != hashes[i]]
        for i in changed:
            ledger.record_reference_et(_row(daily, i, hashes[i]), recorded_at=recorded_at)
    return len(changed)


def _row(daily: DailyWeather, i: int, inputs_hash: str) -> ReferenceEt:
    return ReferenceEt(
        date=daily.dates[i].item(),
        inputs_hash=inputs_hash,
        forecast=bool(daily.forecast[i]),
        estimated=", ".join(key for key, flags in daily.estimated.items() if flags[i]),
        **{field: float(getattr(daily, name)[i]) for name, field in _COLUMNS.items()},
    )
