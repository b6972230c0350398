"""Plantings with every value looked up: the plan's own figures first, then the published row."""

from __future__ import annotations

from dataclasses import dataclass

from scheduler.garden.checks_plants import OWN_KEYS
from scheduler.garden.plan import Planting, StageLengths
from scheduler.garden.schema_beds import PlantingTable
from scheduler.garden.tables import CropRow, crop_row
from scheduler.garden.units import both_systems

__all__ = ["build_planting"]

# Stays shorter or longer than the published season by more than this factor are worth a word.
_STRETCH = 1.5


@dataclass(frozen=True, slots=True)
class _Coefficients:
    """Single crop coefficients with their source and what there is to say about them."""

    kc_ini: float
    kc_mid: float
    kc_end: float
    source: str
    notes: tuple[str, ...]


def build_planting(table: PlantingTable, *, soil_depth: float, water_tested: bool) -> Planting:
    """Return a planting that the checks have passed.

    Parameters
    ----------
    table : PlantingTable
    soil_depth : float
        Soil of its bed [m]; only told in the notes, the balance does the capping.
    water_tested : bool
        Whether the salinity of the water is known; without it the notes say nothing of salt.

    Returns
    -------
    Planting
        `notes` says what was scaled, capped or chosen between.
    """
    own = all(getattr(table, name) is not None for name in OWN_KEYS)
    row = None if own else crop_row(table.crop)
    coefficients = _coefficients(table, row)
    stages, stage_notes = _stages(table, row)
    root_depth, root_notes = _root_depth(table, row, soil_depth)
    threshold, slope, salt_notes = _salinity(row)
    return Planting(
        crop=table.crop,
        planted=table.planted,
        removed=table.removed,
        share=table.share,
        kc_ini=coefficients.kc_ini,
        kc_mid=coefficients.kc_mid,
        kc_end=coefficients.kc_end,
        stages=stages,
        height=_chosen(table.height, row.height_m if row else None),
        root_depth=root_depth,
        depletion_fraction=_chosen(table.depletion_fraction, row.depletion_fraction if row else None),
        salinity_threshold=threshold,
        salinity_slope=slope,
        source=coefficients.source,
        borrowed_from=row.borrowed_from if row else "",
        notes=(
            *_borrowing(table, row),
            *coefficients.notes,
            *stage_notes,
            *root_notes,
            *(salt_notes if water_tested else ()),
        ),
    )


def _chosen(own: float | None, published: float | None) -> float:
    """Return the plan's own figure, else the published one."""
    value = published if own is None else own
    if value is None:
        raise ValueError("neither the plan nor the crop table gives a figure")
    return value


def _coefficients(table: PlantingTable, row: CropRow | None) -> _Coefficients:
    own = table.crop_coefficients
    if own is not None:
        notes = ("crop coefficients are the plan's own",)
        return _Coefficients(own.initial, own.mid, own.late, own.source, notes)
    if row is None:
        raise ValueError(f"no coefficients for {table.crop}")
    if table.staked and row.kc_mid_staked is not None:
        notes = (f"mid-season coefficient {row.kc_mid_staked:g} of staked plants, not {row.kc_mid:g}",)
        return _Coefficients(row.kc_ini, row.kc_mid_staked, row.kc_end, row.source, notes)
    second = [
        f"{stage} coefficient {first:g} chosen, {other:g} is also printed"
        for stage, first, other in (
            ("mid-season", row.kc_mid, row.kc_mid_high),
            ("end", row.kc_end, row.kc_end_alt),
        )
        if other is not None
    ]
    return _Coefficients(row.kc_ini, row.kc_mid, row.kc_end, row.source, tuple(second))


def _stages(table: PlantingTable, row: CropRow | None) -> tuple[StageLengths, tuple[str, ...]]:
    stay = (table.removed - table.planted).days
    if table.stages is not None:
        initial, development, mid, late = table.stages
        total = sum(table.stages)
        differs = () if total == stay else (f"stages of {total:g} days in the plan, it stays {stay} days",)
        return StageLengths(initial, development, mid, late), differs
    if row is None or row.stages is None:
        raise ValueError(f"no stage lengths for {table.crop}")
    printed = row.stages
    scale = stay / printed.total
    lengths = (printed.l_ini, printed.l_dev, printed.l_mid, printed.l_late)
    text = "/".join(f"{days:g}" for days in lengths)
    notes: tuple[str, ...] = (
        f"stages {text} days ({printed.region}, planted {printed.plant_month}) "
        f"scaled from {printed.total:g} to the {stay} days it stays",
    )
    if not 1 / _STRETCH <= scale <= _STRETCH:
        notes += (
            f"that is {scale:.2g} times the published season: give stages of your own if they are known",
        )
    return StageLengths(*(days * scale for days in lengths)), notes


def _root_depth(
    table: PlantingTable, row: CropRow | None, soil_depth: float
) -> tuple[float, tuple[str, ...]]:
    if table.root_depth is not None or row is None:
        return _chosen(table.root_depth, None), ()
    depth = row.root_max_low_m
    cap = f"; the bed's soil of {both_systems(soil_depth, 'length')} caps it" if depth > soil_depth else ""
    low, high = (both_systems(value, "length") for value in (depth, row.root_max_high_m))
    return depth, (f"rooting depth {low}, the low figure of a range up to {high}{cap}",)


def _salinity(row: CropRow | None) -> tuple[float | None, float | None, tuple[str, ...]]:
    """Return the threshold and slope; of a printed range the more careful end of each."""
    if row is None or row.ece_threshold_low is None or row.slope_low is None:
        return None, None, ()
    slope = row.slope_low if row.slope_high is None else row.slope_high
    if row.ece_threshold_high in (None, row.ece_threshold_low):
        return row.ece_threshold_low, slope, ()
    note = (
        f"salt threshold {row.ece_threshold_low:g} dS/m, the low figure of a range up to "
        f"{row.ece_threshold_high:g}"
    )
    return row.ece_threshold_low, slope, (note,)


def _borrowing(table: PlantingTable, row: CropRow | None) -> tuple[str, ...]:
    """Return what is borrowed from another crop's row, and which row an everyday name stands for."""
    if row is None:
        return ()
    notes: tuple[str, ...] = ()
    if row.borrowed_from:
        notes += (f"borrowed: {row.name} has no published row, the figures are those of {row.borrowed_from}",)
    elif row.name.casefold() != table.crop.casefold():
        notes += (f"taken as {row.name} in the crop table",)
    if row.stages_borrowed_from and table.stages is None:
        notes += (f"borrowed: the stage lengths are those of {row.stages_borrowed_from}",)
    return notes
