"""What each crop may have lost to shortage of water: a range, never a promise."""

from __future__ import annotations

from scheduler.garden.plan import Garden
from scheduler.season.results import SeasonResult
from scheduler.season.yields import KY_UNCERTAINTY, PlantingYield, planting_yields
from scheduler.show.notes import percent
from scheduler.show.report import Column, Part, Row

__all__ = ["yield_notes", "yield_part"]

COLUMNS = (
    Column("bed", "bed"),
    Column("crop", "crop"),
    Column("days", "days"),
    Column("short_days", "days short\nof water"),
    Column("use_ratio", "use over\nfull use", decimals=2),
    Column("ky", "Ky", decimals=2),
    Column("yield_range", "yield over\nfull yield"),
    Column("relative_yield_low", ""),
    Column("relative_yield_high", ""),
)


def yield_part(garden: Garden, result: SeasonResult) -> Part:
    """Return one row a planting: its use over full use, and the range of yield that is left."""
    rows = tuple(_row(outcome) for outcome in planting_yields(garden, result))
    return Part("yields", "What shortage may have cost", COLUMNS, rows)


def _row(outcome: PlantingYield) -> Row:
    """Return the row of one planting."""
    return {
        "bed": outcome.bed,
        "crop": outcome.crop,
        "days": outcome.days,
        "short_days": outcome.short_days,
        "use_ratio": outcome.use_ratio,
        "ky": outcome.ky,
        "yield_range": _range(outcome),
        "relative_yield_low": outcome.low,
        "relative_yield_high": outcome.high,
    }


def _range(outcome: PlantingYield) -> str:
    """Return the range in whole percents."""
    if outcome.low is None or outcome.high is None:
        return "no Ky published"
    low, high = percent(outcome.low), percent(outcome.high)
    return high if low == high else f"{low} to {high}"


def yield_notes(garden: Garden, result: SeasonResult) -> tuple[str, ...]:
    """Return what the yields rest on, and which crops stand in more salt than the equations allow for."""
    salty = [f"{one.crop} in {one.bed}" for one in planting_yields(garden, result) if one.salt_out_of_range]
    notes = [
        "Yields are relative to a crop that never went short, by FAO-56 eq. 90 with the seasonal Ky of "
        f"FAO-33, Ky taken as uncertain by {percent(KY_UNCERTAINTY)} (judgement): a range to compare choices "
        "by, never a promise. Shortage at bloom and fruit set costs more than the season's mean tells."
    ]
    if salty:
        notes.append(
            f"Soil salinity is beyond the range of the equations for {', '.join(salty)}: their figures are "
            "too good. Have water and soil tested."
        )
    return tuple(notes)
