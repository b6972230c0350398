"""What each crop may have lost to shortage of water: a range, never a promise."""

from __future__ import annotations

from collections.abc import Sequence

from scheduler.season.yields import KY_UNCERTAINTY, PlantingYield
from scheduler.show.notes import percent
from scheduler.show.report import Column, Part, Row

__all__ = ["yield_notes", "yield_part"]

COLUMNS = (
    Column("bed", "bed"),
    Column("crop", "crop"),
    Column("stay_days", "days"),
    Column("short_days", "days short\nof water"),
    Column("use_fraction", "use over\nfull use", decimals=2),
    Column("yield_coefficient", "Ky", decimals=2),
    Column("yield_range", "yield over\nfull yield"),
    Column("yield_low_fraction", ""),
    Column("yield_high_fraction", ""),
)


def yield_part(outcomes: Sequence[PlantingYield]) -> Part:
    """Return one row a planting: its use over full use, and the range of yield that is left."""
    return Part("yields", "What shortage may have cost", COLUMNS, tuple(map(_row, outcomes)))


def _row(outcome: PlantingYield) -> Row:
    """Return the row of one planting."""
    return {
        "bed": outcome.bed,
        "crop": outcome.crop,
        "stay_days": outcome.days,
        "short_days": outcome.short_days,
        "use_fraction": outcome.use_ratio,
        "yield_coefficient": outcome.ky,
        "yield_range": _range(outcome),
        "yield_low_fraction": outcome.low,
        "yield_high_fraction": outcome.high,
    }


def _range(outcome: PlantingYield) -> str:
    """Return the range in whole percents."""
    if outcome.low is None or outcome.high is None:
        return "no Ky published"
    low, high = percent(outcome.low), percent(outcome.high)
    return high if low == high else f"{low} to {high}"


def yield_notes(outcomes: Sequence[PlantingYield]) -> tuple[str, ...]:
    """Return what the yields rest on, and which crops stand in more salt than the equations allow for."""
    salty = [f"{one.crop} in {one.bed}" for one in outcomes if one.salt_out_of_range]
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
