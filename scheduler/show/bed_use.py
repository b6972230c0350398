"""The part of a bed's working that is about plants, air and surface: from coefficients to use a day."""

from __future__ import annotations

import numpy as np

from scheduler.garden.plan import Bed, Garden, Planting
from scheduler.season.curves import PlantingCurve
from scheduler.season.ground import drip_wetted_share
from scheduler.season.growth import bed_curves
from scheduler.season.results import WeekResult
from scheduler.season.stages import Warmth, growth_progress, stage_name
from scheduler.show.bed_steps import Steps
from scheduler.show.notes import day_text, percent
from scheduler.timetable.patterns import DAYS_PER_WEEK
from scheduler.water.evaporation import evaporation_reduction
from scheduler.weather.record import DailyWeather

__all__ = ["plant_steps", "use_steps"]

WEEK = slice(0, DAYS_PER_WEEK)
BY_RULE = {"area mean": "weighted by area", "thirstiest plant": "greatest of its crops"}


def plant_steps(
    steps: Steps, garden: Garden, bed: Bed, *, daily: DailyWeather, result: WeekResult
) -> list[Planting]:
    """Add the steps of each crop that grows on the first day of the table; return these crops."""
    dates = np.datetime64(result.on, "D") + np.arange(1)
    warmth = Warmth(daily, result.normals, result.on)
    _, curves = bed_curves(bed, dates, normals=result.normals, warmth=warmth, latitude=garden.site.latitude)
    growing = []
    for planting, curve in zip(bed.plantings, curves, strict=True):
        if curve.active[0]:
            growing.append(planting)
            late = [float(part[0]) for part in growth_progress(planting, dates, warmth=warmth)]
            _one_plant(steps, planting, curve, result, stage=stage_name(*late), dual=_dual(garden))
    return growing


def _dual(garden: Garden) -> bool:
    """Return True if evaporation and transpiration are reckoned apart."""
    return garden.planning.coefficient == "dual"


def _one_plant(
    steps: Steps, planting: Planting, curve: PlantingCurve, result: WeekResult, *, stage: str, dual: bool
) -> None:
    """Add the steps of one crop."""
    day = (result.on - planting.planted).days + 1
    borrowed = f", borrowed from {planting.borrowed_from}" if planting.borrowed_from else ""
    name, values, peak, end, equations = (
        ("Kcb", curve.basal, curve.kcb_mid, curve.kcb_end, "66, 70")
        if dual
        else ("Kc", curve.kc, curve.kc_mid, curve.kc_end, "62, 65, 66")
    )
    first = planting.kcb_ini if dual else planting.kc_ini
    steps.add(
        f"{name} of {planting.crop}",
        float(values[0]),
        of=None,
        working=f"day {day}, {stage}; {_stages(planting)}; {name} {first:.2f} / {peak:.2f} / {end:.2f} "
        "after climate",
        source=f"{planting.source}{borrowed}; FAO-56 eq. {equations}",
    )
    if dual:
        steps.add(
            f"ground that {planting.crop} covers",
            float(curve.cover[0]),
            of="ratio",
            working=f"at a height of {steps.exact(float(curve.height[0]), 'length')}",
            source="FAO-56 eq. 76",
        )
    steps.add(
        f"rooting depth of {planting.crop}",
        float(curve.root[0]),
        of="length",
        working=f"grows to {steps.exact(planting.root_depth, 'length')}, no deeper than the bed's soil",
        source="FAO-56 Table 22 and Annex 8",
    )


def _stages(planting: Planting) -> str:
    """Return the lengths of the stages in words."""
    if planting.heat is not None:
        heat = planting.heat
        sums = (heat.initial, heat.development, heat.mid, heat.late)
        return f"stages {' / '.join(f'{part:.0f}' for part in sums)} degC d above {heat.base:g} degC"
    stages = planting.stages
    lengths = (stages.initial, stages.development, stages.mid, stages.late)
    return f"stages {' / '.join(f'{length:.0f}' for length in lengths)} d"


def use_steps(steps: Steps, garden: Garden, result: WeekResult, number: int) -> None:
    """Add the steps of the week's use and the deficit on its first morning."""
    bed = garden.beds[number]
    origins = sorted(set(result.weather.origin[WEEK].tolist()))
    steps.add(
        "reference ET, mean of the week",
        float(result.weather.reference_et[WEEK].mean()),
        of="water_depth",
        working=" and ".join(origins) + " days",
        source="FAO-56 eq. 52" if garden.weather.method == "temperature only" else "FAO-56 eq. 6",
    )
    _place_step(steps, bed, result, number)
    if _dual(garden):
        _surface_steps(steps, bed, result, number)
    _coefficient_steps(steps, garden, result, number)
    steps.add(
        "rain counted this week",
        float(result.outlook.conditions.rain[WEEK, number].sum()),
        of="water_depth",
        working="the share of expected rain that the plan counts"
        + (f", {percent(bed.rain_share)} of which reaches the bed" if bed.rain_share < 1.0 else ""),
        source="plan, planning",
    )
    steps.add(
        f"deficit on the morning of {day_text(result.on)}",
        float(result.outlook.depletion[number]),
        of="water_depth",
        working=f"daily balance from {result.state_from}",
        source="FAO-56 eq. 85",
    )


def _place_step(steps: Steps, bed: Bed, result: WeekResult, number: int) -> None:
    """Add what walls and shade make of the reference, if they do."""
    if bed.sun_lost == 0.0 and bed.wall_heat == 0.0:
        return
    share = float(result.reached[WEEK, number].mean())
    reasons = []
    if bed.sun_lost:
        reasons.append(
            f"{bed.sun_lost:g} h of sun lost in the {bed.sun_lost_when}: the beam's part of FAO-56 eq. 6"
        )
    if bed.wall_heat:
        reasons.append(f"warm wall + {percent(bed.wall_heat)} (judgement)")
    steps.add(
        "reference ET that reaches the bed", share, of="ratio", working="; ".join(reasons), source="plan"
    )


def _surface_steps(steps: Steps, bed: Bed, result: WeekResult, number: int) -> None:
    """Add the steps of the soil surface on the first morning of the table."""
    surface = result.outlook.conditions.surface
    if surface is None:
        return
    tew, rew = float(surface.tew[0, number]), float(surface.rew[0, number])
    wetted, source = drip_wetted_share(bed)
    steps.add("share of the bed that drip wets, fw", wetted, of="ratio", working="", source=source)
    steps.add(
        "exposed and wetted share, few",
        float(surface.strip[0, number]),
        of="ratio",
        working="fw (1 - 2/3 cover), at most 1 - cover" + _under_mulch(bed),
        source="FAO-56 eq. 75 and its text on drip",
    )
    steps.add(
        "evaporable water TEW",
        tew,
        of="water_depth",
        working=f"of the top 0.10 m; the first {steps.exact(rew, 'water_depth')} go freely",
        source="FAO-56 eq. 73, Table 19",
    )
    missing = float(np.asarray(result.outlook.state.strip)[number])
    steps.add(
        "reduction Kr this morning, without a run",
        float(evaporation_reduction(missing, tew, rew=rew)),
        of=None,
        working=f"(TEW - De) / (TEW - REW), De {steps.exact(missing, 'water_depth')}",
        source="FAO-56 eq. 74",
    )


def _under_mulch(bed: Bed) -> str:
    """Return what mulch does to the surface, in words."""
    if bed.mulch is None:
        return ""
    if bed.mulch.kind == "organic":
        return f"; mulch on {percent(bed.mulch.cover)} keeps back half of what lies under it"
    return f"; film on {percent(bed.mulch.cover)}"


def _coefficient_steps(steps: Steps, garden: Garden, result: WeekResult, number: int) -> None:
    """Add the coefficients of the bed and its use a day under the table."""
    bed, growth = garden.beds[number], result.growth
    use = float(result.plan.use[WEEK, number].mean())
    reference_et = float((result.weather.reference_et[WEEK] * result.reached[WEEK, number]).mean())
    if not _dual(garden):
        kc = float(growth.kc[WEEK, number].mean())
        steps.add("Kc of the bed, mean of the week", kc, of=None, working=bed.need, source=BY_RULE[bed.need])
        steps.add(
            "crop use a day", use, of="water_depth", working="Kc x reference ET", source="FAO-56 eq. 58"
        )
        return
    basal = float(growth.basal[WEEK, number].mean())
    steps.add("Kcb of the bed, mean of the week", basal, of=None, working=bed.need, source=BY_RULE[bed.need])
    steps.add(
        "use over reference ET under this table, mean of the week",
        use / reference_et if reference_et else 0.0,
        of=None,
        working="Ks Kcb + Ke, day by day: Ke rises with every wetting",
        source="FAO-56 eq. 69, 71, 77 and 80",
    )
    steps.add(
        "use a day", use, of="water_depth", working="(Ks Kcb + Ke) x reference ET", source="FAO-56 eq. 80"
    )
