"""Plantings with every value looked up: the plan's own figures first, then the published row."""

from __future__ import annotations

from dataclasses import dataclass

from scheduler.garden.checks_plants import lacking_keys
from scheduler.garden.plan import HeatStages, Planting, StageLengths
from scheduler.garden.schema_plants import CoefficientTable, HeatTable, PlantingTable
from scheduler.garden.tables import CropRow, crop_row
from scheduler.garden.units import both_systems

__all__ = ["build_planting"]

# FAO-56 Table 18, from memory: basal coefficients lie this much below the single ones later in the season,
# and near this value over bare soil.
_BASAL_BELOW = 0.05
_BASAL_INI = 0.15
# Stays shorter or longer than the published season by more than this factor are worth a word.
_STRETCH = 1.5


@dataclass(frozen=True, slots=True)
class _Coefficients:
    """Coefficients by stage with their source and what there is to say about them."""

    ini: float
    mid: float
    end: float
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
    row = crop_row(table.crop) if lacking_keys(table) else None
    single, basal = _single(table, row), _basal(table, row)
    stages, stage_notes = _stages(table, row)
    root_depth, root_notes = _root_depth(table, row, soil_depth)
    threshold, slope, salt_notes = _salinity(row)
    return Planting(
        crop=table.crop,
        planted=table.planted,
        removed=table.removed,
        share=table.share,
        kc_ini=single.ini,
        kc_mid=single.mid,
        kc_end=single.end,
        kcb_ini=basal.ini,
        kcb_mid=basal.mid,
        kcb_end=basal.end,
        stages=stages,
        height=_chosen(table.height, row.height_m if row else None),
        root_depth=root_depth,
        depletion_fraction=_chosen(table.depletion_fraction, row.depletion_fraction if row else None),
        salinity_threshold=threshold,
        salinity_slope=slope,
        source=_sources(single, basal),
        borrowed_from=row.borrowed_from if row else "",
        notes=(
            *_borrowing(table, row),
            *single.notes,
            *basal.notes,
            *stage_notes,
            *root_notes,
            *(salt_notes if water_tested else ()),
        ),
        ky=row.ky if row and table.yield_response is None else table.yield_response,
        ground_cover=table.ground_cover,
        heat=None if table.heat_stages is None else _heat(table.heat_stages),
        surface_wet_days=table.keep_surface_wet or 0.0,
        establishing_days=table.establishing or 0.0,
    )


def _chosen(own: float | None, published: float | None) -> float:
    """Return the plan's own figure, else the published one."""
    value = published if own is None else own
    if value is None:
        raise ValueError("neither the plan nor the crop table gives a figure")
    return value


def _single(table: PlantingTable, row: CropRow | None) -> _Coefficients:
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


def _basal(table: PlantingTable, row: CropRow | None) -> _Coefficients:
    """Return basal coefficients, chosen as the single ones are."""
    own = table.basal_coefficients
    if own is not None:
        notes = ("basal crop coefficients are the plan's own",)
        return _Coefficients(own.initial, own.mid, own.late, own.source, notes)
    if table.crop_coefficients is not None:
        return _derived(table.crop_coefficients)
    if row is None:
        raise ValueError(f"no basal coefficients for {table.crop}")
    staked = row.kcb_mid_staked if table.staked else None
    mid = row.kcb_mid if staked is None else staked
    return _Coefficients(row.kcb_ini, mid, row.kcb_end, row.source, ())


def _derived(single: CoefficientTable) -> _Coefficients:
    """Return basal coefficients by the guide of FAO-56 Table 18 from the plan's own single ones."""
    ini = min(_BASAL_INI, single.initial)
    mid, end = (round(value - _BASAL_BELOW, 3) for value in (single.mid, single.late))
    note = (
        f"basal crop coefficients {ini:g}, {mid:g} and {end:g} derived from the plan's single ones "
        "(guide of FAO-56 Table 18, from memory)"
    )
    return _Coefficients(ini, mid, end, single.source, (note,))


def _sources(single: _Coefficients, basal: _Coefficients) -> str:
    """Return where the coefficients come from, each source once."""
    return single.source if basal.source == single.source else f"{single.source}; basal: {basal.source}"


def _heat(table: HeatTable) -> HeatStages:
    return HeatStages(
        base=table.base,
        upper=table.upper,
        initial=table.initial,
        development=table.development,
        mid=table.mid,
        late=table.late,
    )


def _shared_out(heat: HeatTable, stay: float) -> tuple[StageLengths, tuple[str, ...]]:
    """Return the stay shared out by the degree-days of the stages, for days without temperatures."""
    sums = (heat.initial, heat.development, heat.mid, heat.late)
    above = f"above {both_systems(heat.base, 'temperature')}"
    note = (
        f"stages by degree-days {above}; where no temperatures are known, the {stay:g} days it stays are "
        "shared out in proportion"
    )
    return StageLengths(*(stay * part / sum(sums) for part in sums)), (note,)


def _stages(table: PlantingTable, row: CropRow | None) -> tuple[StageLengths, tuple[str, ...]]:
    stay = (table.removed - table.planted).days
    if table.heat_stages is not None:
        return _shared_out(table.heat_stages, stay)
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
    if row.stages_borrowed_from and table.stages is None and table.heat_stages is None:
        notes += (f"borrowed: the stage lengths are those of {row.stages_borrowed_from}",)
    return notes
