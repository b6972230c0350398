"""Random small gardens and weathers for whole replays. Invented figures."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
from hypothesis import strategies as st

from scheduler.garden.plan import (
    HeatStages,
    Mulch,
    Settled,
    SoilLayer,
    SoilMix,
    SoilState,
    StageLengths,
    WaterSource,
)
from tests.builders import make_bed, make_daily, make_garden, make_planting

BEGINS = date(2025, 5, 1)

depletions = st.one_of(st.just("full"), st.just("at limit"), st.floats(0.0, 60.0))


@st.composite
def plantings(draw, *, share):
    planted = BEGINS + timedelta(days=draw(st.integers(-30, 40)))
    return make_planting(
        planted=planted,
        removed=max(planted, BEGINS) + timedelta(days=draw(st.integers(5, 50))),
        share=share,
        kc_ini=draw(st.floats(0.3, 0.8)),
        kc_mid=draw(st.floats(0.8, 1.2)),
        kc_end=draw(st.floats(0.3, 1.0)),
        stages=StageLengths(*(float(draw(st.integers(3, 20))) for _ in range(4))),
        height=draw(st.floats(0.1, 2.0)),
        root_depth=draw(st.floats(0.1, 1.0)),
        depletion_fraction=draw(st.floats(0.2, 0.6)),
        ground_cover=draw(st.one_of(st.none(), st.floats(0.1, 1.0))),
        heat=draw(st.one_of(st.none(), heat_stages())),
    )


@st.composite
def heat_stages(draw):
    base = draw(st.floats(0.0, 12.0))
    upper = draw(st.one_of(st.none(), st.floats(base + 5.0, 35.0)))
    return HeatStages(base, upper, *(draw(st.floats(20.0, 400.0)) for _ in range(4)))


def days_of_the_season():
    return st.integers(0, 60).map(lambda day: BEGINS + timedelta(days=day))


@st.composite
def mixes(draw, name):
    wilting = draw(st.floats(0.05, 0.2))
    return SoilMix(name, wilting + draw(st.floats(0.08, 0.25)), wilting, source="invented")


@st.composite
def layers(draw, top, depth):
    """Layers of a bed whose soil is so deep: one mix or two, above wood or not; none for a plain bed."""
    if draw(st.booleans()):
        return ()
    below = draw(mixes("below"))
    first = depth * draw(st.sampled_from([0.3, 0.6, 1.0]))
    told = [SoilLayer(top, first, top.field_capacity - top.wilting_point, "mix")]
    if first < depth:
        held = below.field_capacity - below.wilting_point
        told.append(SoilLayer(below, depth - first, held, "below"))
    if draw(st.booleans()):
        told.append(SoilLayer(None, draw(st.floats(0.05, 0.4)), draw(st.sampled_from([0.0, 0.05])), "wood"))
    return tuple(told)


@st.composite
def mulches(draw):
    begins, ends = draw(st.one_of(st.none(), days_of_the_season())), None
    if draw(st.booleans()):
        ends = (begins or BEGINS) + timedelta(days=draw(st.integers(0, 40)))
    kind = draw(st.sampled_from(["organic", "plastic"]))
    holes = draw(st.floats(0.0, 0.3)) if kind == "plastic" else 0.0
    return Mulch(kind, draw(st.floats(0.1, 1.0)), begins, ends, holes)


@st.composite
def beds(draw, name):
    mix = draw(mixes("mix"))
    shares = draw(st.sampled_from([(1.0,), (0.4,), (0.5, 0.3), (0.25, 0.75)]))
    depth = draw(st.floats(0.15, 0.6))
    later = draw(st.lists(days_of_the_season(), max_size=2, unique=True))
    return make_bed(
        name,
        zone=name,
        soil=mix,
        soil_depth=depth,
        layers=draw(layers(mix, depth)),
        settled=tuple(Settled(on, draw(st.floats(0.12, 0.7))) for on in sorted(later)),
        mulch=draw(st.one_of(st.none(), mulches())),
        area=draw(st.floats(0.5, 6.0)),
        emitters=draw(st.integers(6, 40)),
        need=draw(st.sampled_from(["area mean", "thirstiest plant"])),
        plantings=tuple(draw(plantings(share=share)) for share in shares),
        **draw(places()),
    )


@st.composite
def places(draw):
    """Where a bed stands and how; each part left out as often as not."""
    told = {
        "wetted_share": st.floats(0.05, 1.0),
        "sun_lost": st.floats(0.0, 10.0),
        "sun_lost_when": st.sampled_from(["morning", "midday", "evening"]),
        "wall_heat": st.floats(0.0, 0.25),
        "rain_share": st.floats(0.0, 1.0),
        "isolated_width": st.floats(0.2, 5.0),
        "mixing": st.just("height"),
    }
    return draw(st.fixed_dictionaries({}, optional=told))


@st.composite
def soil_states(draw, names):
    states = [SoilState(BEGINS, draw(depletions), None)]
    for _ in range(draw(st.integers(0, 3))):
        on = BEGINS + timedelta(days=draw(st.integers(0, 40)))
        depletion = draw(depletions)
        # Millimetres may be more than a root zone holds; wholly dry soil below it as well is more than a bed.
        below = draw(st.sampled_from([0.0, 0.5, 1.0])) if isinstance(depletion, str) else 0.0
        states.append(SoilState(on, depletion, draw(st.sampled_from([None, *names])), below))
    return tuple(states)


@st.composite
def gardens(draw, *, n_beds):
    """Return a garden with every bed in a zone of its own, and plenty of tap for all at once."""
    names = [f"bed {number}" for number in range(n_beds)]
    garden = make_garden([draw(beds(name)) for name in names])
    salinity = draw(st.one_of(st.none(), st.floats(0.2, 4.0)))
    return replace(
        garden,
        timer=replace(garden.timer, one_zone_at_a_time=False),
        planning=replace(garden.planning, coefficient=draw(st.sampled_from(["dual", "single"]))),
        water_source=WaterSource(5000.0, None, 1.0, None, salinity),
        soil_states=draw(soil_states(names)),
    )


@st.composite
def weathers(draw):
    return make_daily(
        date(2024, 1, 1),
        912,
        seed=draw(st.integers(0, 10_000)),
        rain_scale=draw(st.sampled_from([0.0, 0.5, 3.0])),
    )


def exchanged(daily, first, *, other_year):
    """Return the record with the days from `first` to the year's end exchanged with another year's.

    The normals of the record stay as they are, since each day of the year keeps its values. Both years
    have 365 days.
    """
    year_end = np.datetime64(date(first.year, 12, 31))
    here = np.flatnonzero((daily.dates >= np.datetime64(first)) & (daily.dates <= year_end))
    shift = (date(other_year, 1, 1) - date(first.year, 1, 1)).days
    order = np.arange(daily.dates.shape[0])
    order[here], order[here + shift] = here + shift, here
    return replace(
        daily,
        **{
            name: getattr(daily, name)[order]
            for name in ("reference_et", "rain", "wind_2m", "rh_min", "tmax", "tmin")
        },
    )
