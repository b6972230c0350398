"""A plan told back quantity by quantity in both unit systems, so that a person sees what was understood."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import time
from decimal import Decimal

from scheduler.garden.describe_ground import describe_ground, describe_soils, describe_states
from scheduler.garden.describe_layout import describe_drip_layout, describe_layout, describe_place
from scheduler.garden.describe_lines import Line, quantities
from scheduler.garden.describe_links import describe_links, describe_sources
from scheduler.garden.describe_measured import describe_tests, describe_water_test
from scheduler.garden.describe_plants import describe_planting
from scheduler.garden.layout import flow_at_pressure
from scheduler.garden.plan import Bed, Garden, Tariff
from scheduler.garden.units import both_systems

__all__ = ["describe_plan"]


def describe_plan(garden: Garden) -> list[Line]:
    """Return every quantity of a plan as text in both unit systems.

    Returns
    -------
    list of (str, str, str)
        Place in the plan, what it is, value; in the order of the plan file.
    """
    return [
        *_site(garden),
        *describe_sources(garden),
        *describe_soils(garden),
        *_tap(garden),
        *_drip_lines(garden),
        *(line for bed in garden.beds for line in _bed(bed)),
        *describe_layout(garden),
        *describe_states(garden),
        *_planning(garden),
        *_uncertainty(garden),
        *_timer(garden),
        *_hours(garden),
        *_bill(garden),
        *describe_links(garden),
    ]


def _site(garden: Garden) -> Iterator[Line]:
    site, weather = garden.site, garden.weather
    yield from quantities(
        "site",
        ("latitude", site.latitude, "latitude"),
        ("longitude", site.longitude, "longitude"),
        ("elevation", site.elevation, "length"),
    )
    yield "site", "time zone", site.timezone
    if weather.file is not None:
        yield "weather", "file", str(weather.file)
    yield from quantities("weather", ("height of the wind sensor", weather.wind_height, "length"))
    for variable, (column, unit) in weather.columns.items():
        yield "weather", variable, f"column {column}" + (f" in {unit}" if unit else "")
    for what, rule in (
        ("lost days", weather.gaps),
        ("no humidity", weather.humidity),
        ("no radiation", weather.radiation),
        ("no rain", weather.rain),
        ("method", weather.method),
    ):
        yield "weather", what, rule
    if weather.humidity != "refuse":
        below = both_systems(weather.dew_point_below_tmin, "temperature_difference")
        yield "weather", "dew point below the lowest temperature", below
    if weather.radiation != "refuse":
        yield "weather", "radiation from temperature for a site", weather.radiation_site
    yield from quantities("weather", ("wind without a measured one, at 2 m", weather.wind, "speed"))


def _tap(garden: Garden) -> Iterator[Line]:
    source = garden.water_source
    yield from quantities(
        "water_source",
        ("flow, house quiet", source.flow, "flow"),
        ("flow, house busy", source.flow_house_busy, "flow"),
        ("part to plan on", source.usable_share, "ratio"),
        ("pressure with no flow", source.static_pressure, "pressure"),
        ("salinity", source.salinity, "salinity"),
        ("leaching fraction", source.leaching_fraction, "ratio"),
        ("temperature of the water", source.temperature, "temperature"),
    )
    yield from describe_water_test(source.test)


def _drip_lines(garden: Garden) -> Iterator[Line]:
    for drip in {bed.drip.name: bed.drip for bed in garden.beds}.values():
        place = f'drip "{drip.name}"'
        yield from quantities(
            place,
            ("flow of one emitter", drip.emitter_flow, "flow"),
            ("at a pressure of", drip.at_pressure, "pressure"),
        )
        yield place, "exponent", f"{drip.exponent:g}"
        yield from quantities(
            place,
            ("manufacturing variation", drip.manufacturing_variation, "ratio"),
            ("efficiency", drip.efficiency, "ratio"),
        )
        yield from describe_drip_layout(place, drip)


def _bed(bed: Bed) -> Iterator[Line]:
    place = f'bed "{bed.name}"'
    yield place, "shape", bed.shape_text
    yield from quantities(place, ("area", bed.area, "area"), ("soil depth", bed.soil_depth, "length"))
    yield from quantities(
        place,
        ("drip line", bed.line_length, "length"),
        ("emitter spacing", bed.drip.emitter_spacing, "length"),
    )
    yield place, "emitters", f"{bed.emitters} ({'counted' if bed.emitters_counted else 'from its line'})"
    flow = flow_at_pressure(bed.drip, emitters=bed.emitters, pressure=bed.pressure)
    yield from quantities(
        place,
        ("pressure at the emitters", bed.pressure, "pressure"),
        ("flow", flow, "flow"),
        # 1 L/h on 1 m2 is 1 mm/h.
        ("application rate", flow / bed.area, "application_rate"),
    )
    yield from describe_place(bed)
    yield from describe_ground(bed)
    for planting in bed.plantings:
        yield from describe_planting(f"{place} > {planting.crop}", planting)
    yield from describe_tests(bed)


def _planning(garden: Garden) -> Iterator[Line]:
    planning = garden.planning
    yield from quantities(
        "planning",
        ("reserve", planning.reserve, "ratio"),
        ("forecast rain counted on", planning.forecast_rain, "ratio"),
        ("usual rain counted on", planning.normal_rain, "ratio"),
        ("bare soil coefficient", planning.bare_soil_coefficient, "ratio"),
    )
    yield "planning", "crop coefficient", planning.coefficient


def _uncertainty(garden: Garden) -> Iterator[Line]:
    spread = garden.uncertainty
    yield from quantities(
        "uncertainty",
        ("reference ET", spread.reference_et, "ratio"),
        ("crop coefficient", spread.crop_coefficient, "ratio"),
        ("available water", spread.available_water, "ratio"),
        ("efficiency", spread.efficiency, "ratio"),
        ("flow", spread.flow, "ratio"),
        ("rain", spread.rain, "ratio"),
    )


def _timer(garden: Garden) -> Iterator[Line]:
    timer = garden.timer
    yield "timer", "outlets", str(timer.outlets)
    yield "timer", "starts a day", str(timer.starts_per_day)
    yield from quantities(
        "timer",
        ("step", timer.step, "duration"),
        ("shortest run", timer.shortest_run, "duration"),
        ("longest run", timer.longest_run, "duration"),
        ("longest interval", timer.longest_interval, "days"),
    )
    yield "timer", "choice of days", " or ".join(timer.day_choices)
    yield "timer", "zones together", "no" if timer.one_zone_at_a_time else "yes"


def _hours(garden: Garden) -> Iterator[Line]:
    for zone in garden.zones:
        beds = ", ".join(bed.name for bed in garden.beds_of(zone.name))
        yield f'zone "{zone.name}"', f"outlet {zone.outlet}, by {zone.rule}", beds
    for number, window in enumerate(garden.windows, start=1):
        yield f"watering_window {number}", " ".join(window.days), _span(window.begin, window.until)
    for number, rule in enumerate(garden.restrictions, start=1):
        hours = "all hours" if rule.begin is None or rule.until is None else _span(rule.begin, rule.until)
        what = f"{rule.reason or 'limit'}, {rule.begins} to {rule.ends}"
        asked = "" if rule.asked_on is None else f", asked or read on {rule.asked_on}"
        yield f"restriction {number}", what, f"{' '.join(rule.days)}, {hours}; exempt: {rule.exempt}{asked}"


def _span(begin: time, until: time) -> str:
    after = " the next day" if until <= begin else ""
    return f"{begin:%H:%M} to {until:%H:%M}{after}"


def _bill(garden: Garden) -> Iterator[Line]:
    if garden.tariff is not None:
        yield from _tariff(garden.tariff)
    if garden.household is not None:
        yield from quantities(
            "household",
            ("use a day", garden.household.use_per_day, "volume"),
            ("meter at the first reading", garden.household.meter_reading, "volume"),
        )


def _tariff(tariff: Tariff) -> Iterator[Line]:
    def money(amount: Decimal, per: str) -> str:
        return f"{amount:f} {tariff.currency} per {per}"

    yield "tariff", "period", f"{tariff.period}, read on {tariff.first_reading}"
    yield "tariff", "meter readings", "cut to whole units" if tariff.whole_units else "as they stand"
    fixed = f"{tariff.fixed_per_days} days" if tariff.fixed_per_days else "period"
    yield "tariff", "fixed charge", money(tariff.fixed_charge, fixed)
    for number, block in enumerate(tariff.blocks, start=1):
        span = "all above" if block.up_to is None else f"up to {block.up_to:f} {tariff.unit}"
        yield f"tariff > block {number}", span, money(block.price, tariff.unit)
    sewer = tariff.sewer
    yield "tariff > sewer", "rule", sewer.rule
    if sewer.rule != "none":
        yield "tariff > sewer", "price", money(sewer.price, tariff.unit)
        yield "tariff > sewer", "fixed charge", money(sewer.fixed_charge, "period")
    if sewer.winter_average is not None:
        yield "tariff > sewer", "winter average", f"{sewer.winter_average:f} {tariff.unit} a period"
    if sewer.cap is not None:
        yield "tariff > sewer", "cap, of the winter average", f"{sewer.cap * 100:f} %"
    yield "tariff", "tax", f"{tariff.tax * 100:f} %"
