"""Reading, converting and showing quantities; every size of a unit is checked against pint."""

import math
import re
import subprocess
import sys
from datetime import date
from decimal import Decimal
from typing import get_args

import numpy as np
import pint
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from scheduler.errors import UnitError
from scheduler.garden.units import (
    Dimension,
    System,
    both_systems,
    convert,
    convert_volume_units,
    format_quantity,
    known_units,
    parse_quantity,
    to_display,
    unit_label,
)

DIMENSIONS = get_args(Dimension)
SYSTEMS = get_args(System)
ANGLES = ("latitude", "longitude")
FOOT = 0.3048
GALLON = 3.785411784


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        ("8 ft", "length", 8 * FOOT),
        ("4 ft 6 in", "length", 4.5 * FOOT),
        ("4'6\"", "length", 4.5 * FOOT),
        ("4′ 6″", "length", 4.5 * FOOT),
        ("4' 6''", "length", 4.5 * FOOT),
        ("4 ft 6 1/2 in", "length", 54.5 * 0.0254),
        ("1/2 in", "length", 0.0127),
        ("½ in", "length", 0.0127),
        ("4 1/2 in", "length", 0.1143),
        ("4½ in", "length", 0.1143),
        ("10in", "length", 0.254),
        ("10 IN.", "length", 0.254),
        (".5 m", "length", 0.5),
        ("1.5 m", "length", 1.5),
        ("0 ft", "length", 0.0),
        ("1 m 20 cm", "length", 1.2),
        ("1e3 mm", "length", 1.0),
        ("0.3 in", "water_depth", 7.62),
        ("1 cm", "water_depth", 10.0),
        ("32 ft²", "area", 32 * FOOT**2),
        ("32 sq. ft", "area", 32 * FOOT**2),
        ("3 m^2", "area", 3.0),
        ("2 gal", "volume", 2 * GALLON),
        ("2 US gal", "volume", 2 * GALLON),
        ("2 imp gal", "volume", 9.09218),
        ("1 gal 2 qt", "volume", 1.5 * GALLON),
        ("38 mL", "volume", 0.038),
        ("412.37 CCF", "volume", 412.37 * 2831.6846592),
        ("0.5 ML", "volume", 500_000.0),
        ("5 gpm", "flow", 300 * GALLON),
        ("5 gal per minute", "flow", 300 * GALLON),
        ("0.6 GPH", "flow", 0.6 * GALLON),
        ("2 l / h", "flow", 2.0),
        ("1.2 in/hr", "application_rate", 30.48),
        ("30 mm h-1", "application_rate", 30.0),
        ("20 psi", "pressure", 137.895146),
        ("20 PSI", "pressure", 137.895146),
        ("1 bar", "pressure", 100.0),
        ("35 cbar", "pressure", 35.0),
        ("35 centibars", "pressure", 35.0),
        ("68 degF", "temperature", 20.0),
        ("68 °F", "temperature", 20.0),
        ("68 deg F", "temperature", 20.0),
        ("-40 F", "temperature", -40.0),
        ("2 degC", "temperature", 2.0),
        ("300 K", "temperature", 26.85),
        ("2 degC", "temperature_difference", 2.0),
        ("9 degF", "temperature_difference", 5.0),
        ("9 K", "temperature_difference", 9.0),
        ("150 degC d", "degree_days", 150.0),
        ("150 °C·d", "degree_days", 150.0),
        ("270 degF days", "degree_days", 150.0),
        ("270 deg F d", "degree_days", 150.0),
        ("0 C d", "degree_days", 0.0),
        ("10 mph", "speed", 4.4704),
        ("20 MJ m-2 d-1", "radiation", 20.0),
        ("20 MJ/m²/day", "radiation", 20.0),
        ("100 W m-2", "radiation", 8.64),
        ("500 langleys", "radiation", 20.92),
        ("500 µS/cm", "salinity", 0.5),
        ("0.5 mS/cm", "salinity", 0.5),
        ("30 mg/L", "concentration", 30.0),
        ("30 mg/l", "concentration", 30.0),
        ("0.2 ppm", "concentration", 0.2),
        ("300 µg/L", "concentration", 0.3),
        # A grain is 64.79891 mg, a gallon 3.785411784 L.
        ("1 gpg", "concentration", 64.79891 / 3.785411784),
        ("12000 per mL", "count", 12000.0),
        ("12000 CFU/mL", "count", 12000.0),
        ("500 CFU/100 mL", "count", 5.0),
        ("1 h 15 min", "duration", 75.0),
        ("90 s", "duration", 1.5),
        ("570 min", "hours", 9.5),
        ("20 days", "days", 20.0),
        ("2 weeks", "days", 14.0),
        ("85 %", "ratio", 0.85),
        ("85%", "ratio", 0.85),
        ("85 percent", "ratio", 0.85),
        (0.85, "ratio", 0.85),
        ("0.85", "ratio", 0.85),
        (1, "ratio", 1.0),
        (0, "ratio", 0.0),
        (Decimal("0.1"), "ratio", 0.1),
        ("150 %", "percent", 150.0),
        ("44.6 N", "latitude", 44.6),
        ("44.6° N", "latitude", 44.6),
        ("44.6 deg north", "latitude", 44.6),
        ("22 deg 54 min S", "latitude", -22.9),
        ("22°54'36\" S", "latitude", -22.91),
        ("0 N", "latitude", 0.0),
        ("12.1 W", "longitude", -12.1),
        ("180 E", "longitude", 180.0),
    ],
)
def test_text_becomes_a_canonical_number(text, dimension, value):
    assert parse_quantity(text, dimension) == pytest.approx(value, rel=1e-8, abs=1e-12)


def test_numbers_are_the_nearest_there_are():
    # No error of repeated rounding: the same length in three spellings is the same number.
    assert parse_quantity("4 ft 6 in", "length") == parse_quantity("54 in", "length") == 1.3716
    assert parse_quantity("85 %", "ratio") == 0.85
    assert parse_quantity("0.1 L", "volume") == 0.1


@pytest.mark.parametrize(
    ("text", "dimension", "found", "wanted"),
    [
        (10, "length", "10 has no unit", 'write a length, e.g. "10 in" or "25 cm"'),
        (10.5, "volume", "10.5 has no unit", "write a volume"),
        ("10", "length", '"10" has no unit', 'write a length, e.g. "10 in" or "25 cm"'),
        ("1/2", "length", '"1/2" has no unit', "write a length"),
        ("20", "percent", '"20" has no unit', 'e.g. "85 %"'),
        ("", "length", "empty", "write a length"),
        ("   ", "ratio", "empty", "write a share"),
        ("8 gal", "length", '"8 gal" is a volume, not a length', "write a length"),
        ("8 ft", "volume", '"8 ft" is a length, not a volume', "write a volume"),
        ("8 mm", "application_rate", "is a length", '"30 mm/h"'),
        ("5 m/s", "application_rate", "is a speed", '"30 mm/h"'),
        ("5 gal", "flow", "is a volume", '"0.5 gal/h"'),
        ("5 %", "length", "is a share", "write a length"),
        ("150 degC", "degree_days", "is a temperature, not a sum of degree-days", '"150 degC d"'),
        ("30 days", "degree_days", "is a time, not a sum of degree-days", '"270 degF d"'),
        ("150 degC d", "days", "is a sum of degree-days, not a number of days", '"7 days"'),
        ("150 GDD", "degree_days", 'unknown unit "GDD"', '"150 degC d"'),
        ("-5 degC d", "degree_days", "below zero", "write a sum of degree-days"),
        ("20 psi", "temperature", "is a pressure", "write a temperature"),
        ("8 kg", "length", '"8 kg" is not a length', "write a length"),
        ("3 stone", "volume", "is not a volume", "write a volume"),
        ("8 fet", "length", 'unknown unit "fet"', 'did you mean "feet"?'),
        ("5 galons", "volume", 'unknown unit "galons"', 'did you mean "gallons"?'),
        ("2 gl", "volume", 'unknown unit "gl"', 'did you mean "gal"?'),
        ("2 Gl", "volume", 'unknown unit "Gl"', "write a volume"),
        ("3 qqq", "length", 'unknown unit "qqq"', "write a length"),
        ("0,5 m", "length", "has a comma in its number", '"0.5 m"'),
        ("1,000 gal", "volume", "has a comma in its number", "thousands without a comma"),
        ("eight ft", "length", "cannot be read", "write a length"),
        ("ft", "length", "cannot be read", "write a length"),
        ("1/0 in", "length", "cannot be read", "write a length"),
        ("inf ft", "length", "cannot be read", "write a length"),
        ("nan ft", "length", "cannot be read", "write a length"),
        ("1e99 ft", "length", "too large", "write a length"),
        ("1e999999999 ft", "length", "unknown unit", "write a length"),
        ("9" * 75 + " ft", "length", "too large", "write a length"),
        ("9" * 100 + " ft", "length", "too long", "write a length"),
        ("4 in 6 ft", "length", "cannot be read as one quantity", "write a length"),
        ("4 ft 6 ft", "length", "cannot be read as one quantity", "write a length"),
        ("3 ft x 4 ft", "length", "unknown unit", "write a length"),
        ("-3 ft", "length", "below zero", "write a length"),
        ("-1 gal/h", "flow", "below zero", "write a flow"),
        ("-2 degC", "temperature_difference", "below zero", "write a temperature difference"),
        ("-300 degC", "temperature", "colder than anything", "write a temperature"),
        (90, "ratio", "90 is not a share", 'write "90 %" or 0.90'),
        ("90", "ratio", '"90" is not a share', 'write "90 %" or 0.90'),
        ("150 %", "ratio", "not within 0 % to 100 %", '"85 %"'),
        ("-5 %", "ratio", "not within 0 % to 100 %", '"85 %"'),
        (-0.1, "ratio", "not within 0 to 1", '"85 %"'),
        (math.nan, "ratio", "nan is not within 0 to 1", '"85 %"'),
        (math.inf, "ratio", "inf is not within 0 to 1", '"85 %"'),
        (10**400, "ratio", "not within 0 to 1", '"85 %"'),
        (True, "ratio", "True is not a quantity", '"85 %"'),
        (None, "length", "None is not a quantity", "write a length"),
        (["8 ft"], "length", "is not a quantity", "write a length"),
        (date(2026, 5, 4), "length", "is not a quantity", "write a length"),
        (44.6, "latitude", "does not say which side", '"44.6 N"'),
        ("-44.6", "latitude", "does not say which side", '"44.6 N"'),
        ("-44.6 N", "latitude", "cannot be read as an angle", '"44.6 N"'),
        ("12.1 W", "latitude", "is not a latitude", '"44.6 N"'),
        ("44.6 N", "longitude", "is not a longitude", '"12.1 W"'),
        ("90.1 N", "latitude", "beyond 90 degrees", '"44.6 N"'),
        ("181 W", "longitude", "beyond 180 degrees", '"12.1 W"'),
        ("22 deg 60 min S", "latitude", "cannot be read as an angle", '"22 deg 54 min S"'),
        ("62 min N", "latitude", "cannot be read as an angle", '"44.6 N"'),
        ("22 54 S", "latitude", "cannot be read as an angle", '"44.6 N"'),
        ("10 hin", "length", 'unknown unit "hin"', 'did you mean "in"?'),
        ("16 in **", "length", 'unknown unit "in **"', 'did you mean "in"?'),
        ("10 ft pi", "length", 'unknown unit "ft pi"', "write a length"),
        ("22.5 deg 30 min S", "latitude", "cannot be read as an angle", '"22 deg 54 min S"'),
    ],
)
def test_bad_text_is_refused_with_a_way_out(text, dimension, found, wanted):
    with pytest.raises(UnitError) as caught:
        parse_quantity(text, dimension)
    assert found in caught.value.found
    assert wanted in caught.value.wanted
    assert len(caught.value.found) < 120


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        ("2 furlong", "length", 402.336),
        ("1 hectare", "area", 10_000.0),
        ("1 pint", "volume", GALLON / 8),
        ("10 inHg", "pressure", 33.8639),
        ("5 hectoliter/day", "flow", 500 / 24),
        ("1 fortnight", "days", 14.0),
    ],
)
def test_rare_units_are_read_too(text, dimension, value):
    assert parse_quantity(text, dimension) == pytest.approx(value, rel=1e-5)


# What pint calls the spellings that it does not know or takes for something else.
PINT_NAMES = {
    "US gal": "gallon", "US gallon": "gallon", "US gallons": "gallon", "gals": "gallon",
    "imp gal": "imperial_gallon", "imperial gal": "imperial_gallon", "imperial gallon": "imperial_gallon",
    "imperial gallons": "imperial_gallon", "fl oz": "fluid_ounce", "fluid ounce": "fluid_ounce",
    "fluid ounces": "fluid_ounce", "cu ft": "ft**3", "cubic foot": "ft**3", "cubic feet": "ft**3",
    "cu in": "in**3", "cubic inch": "in**3", "cubic inches": "in**3", "cubic meter": "m**3",
    "cubic meters": "m**3", "cubic metre": "m**3", "cubic metres": "m**3", "CCF": "(100*ft**3)",
    "HCF": "(100*ft**3)", "kgal": "(1000*gallon)", "mins": "minute", "hrs": "hour", "secs": "second",
    "sec": "second", "sq m": "m**2", "square meter": "m**2", "square meters": "m**2",
    "square metre": "m**2", "square metres": "m**2", "sq ft": "ft**2", "sqft": "ft**2",
    "square foot": "ft**2", "square feet": "ft**2", "sq in": "in**2", "square inch": "in**2",
    "square inches": "in**2", "sq yd": "yd**2", "square yard": "yd**2", "square yards": "yd**2",
    "acre": "(43560*ft**2)", "acres": "(43560*ft**2)", "gph": "gallon/hour", "gpm": "gallon/minute",
    "lph": "L/hour", "lpm": "L/minute", "mb": "mbar", "lbf/in2": "psi", "lb/in2": "psi", "kph": "km/hour",
    "kmh": "km/hour", "kn": "knot", "kt": "knot", "kts": "knot", "ly": "langley", "mmho": "millisiemens",
    "mmhos": "millisiemens", "umho": "microsiemens", "umhos": "microsiemens", "watts": "watt", "%": "percent",
    "pct": "percent", "fraction": "dimensionless", "C": "degC", "celsius": "degC", "degrees C": "degC",
    "degrees Celsius": "degC", "F": "degF", "fahrenheit": "degF", "degrees F": "degF",
    "degrees Fahrenheit": "degF", "K": "kelvin", "cal": "thermochemical_calorie",
}  # fmt: skip
# Degrees above a base are a difference, so that pint can multiply them by days.
PINT_NAMES |= {
    f"{scale} {day}": f"delta_deg{scale[-1]}*day"
    for scale in ("degC", "C", "degF", "F")
    for day in ("d", "day", "days")
}
CANONICAL = {
    "length": "m", "water_depth": "mm", "area": "m**2", "volume": "L", "flow": "L/hour",
    "application_rate": "mm/hour", "pressure": "kPa", "temperature": "degC",
    "temperature_difference": "delta_degC", "degree_days": "delta_degC*day",
    "speed": "m/s", "radiation": "MJ/m**2", "salinity": "dS/m",
    "duration": "minute", "hours": "hour", "days": "day", "ratio": "dimensionless", "percent": "percent",
}  # fmt: skip
REGISTRY = pint.UnitRegistry()


def pint_text(spelling):
    if spelling in PINT_NAMES:
        return PINT_NAMES[spelling]
    parts = [PINT_NAMES.get(part, re.sub(r"(?<=[a-z])(\d)$", r"**\1", part)) for part in spelling.split("/")]
    return "/".join(parts)


@pytest.mark.parametrize("dimension", sorted(CANONICAL))
def test_every_unit_of_the_table_agrees_with_pint(dimension):
    assert known_units(dimension)
    for spelling in known_units(dimension):
        text = pint_text(spelling)
        if dimension == "temperature_difference":
            text = text.replace("deg", "delta_deg")
        target = CANONICAL[dimension]
        if dimension == "radiation" and spelling.endswith(("/d", "/day", "W/m2", "watt/m2", "watts/m2")):
            target = "MJ/m**2/day"
        one = REGISTRY.Quantity(1.0, text) if dimension == "temperature" else REGISTRY.parse_expression(text)
        assert convert(1.0, spelling, dimension) == pytest.approx(one.m_as(target), rel=1e-12), spelling


def test_angles_have_a_grammar_of_their_own():
    assert [known_units(dimension) for dimension in ANGLES] == [(), ()]


@pytest.mark.parametrize(
    ("value", "dimension", "metric", "us"),
    [
        (2.4384, "length", "2.44 m", "8.0 ft"),
        (0.254, "length", "25.4 cm", "10.0 in"),
        (0.95, "length", "95.0 cm", "3.1 ft"),
        (12.7, "water_depth", "12.7 mm", "0.50 in"),
        (3.716, "area", "3.72 m²", "40.0 ft²"),
        (100.0, "volume", "100 L", "26 gal"),
        (20.0, "volume", "20 L", "5.3 gal"),
        (0.038, "volume", "38 mL", "1.3 fl oz"),
        (0.0, "volume", "0 L", "0.0 gal"),
        (2.27, "flow", "2.3 L/h", "0.6 gal/h"),
        (23.2, "application_rate", "23.2 mm/h", "0.91 in/h"),
        (137.9, "pressure", "138 kPa", "20 psi"),
        (20.0, "temperature", "20.0 °C", "68.0 °F"),
        (5.0, "temperature_difference", "5.0 °C", "9.0 °F"),
        (150.0, "degree_days", "150 °C d", "270 °F d"),
        (2.0, "speed", "2.0 m/s", "4.5 mph"),
        (20.0, "radiation", "20.0 MJ/m²", "20.0 MJ/m²"),
        (0.5, "salinity", "0.50 dS/m", "0.50 dS/m"),
        (0.3, "concentration", "0.30 mg/L", "0.30 mg/L"),
        (12000.0, "count", "12000 per mL", "12000 per mL"),
        (65.6, "duration", "66 min", "66 min"),
        (9.5, "hours", "9.5 h", "9.5 h"),
        (1.0, "days", "1 day", "1 day"),
        (7.0, "days", "7 days", "7 days"),
        (0.85, "ratio", "85 %", "85 %"),
        (85.0, "percent", "85 %", "85 %"),
        (-22.9, "latitude", "22.90° S", "22.90° S"),
        (12.1, "longitude", "12.10° E", "12.10° E"),
        (-0.01, "temperature", "0.0 °C", "32.0 °F"),
        (-0.01, "water_depth", "0.0 mm", "0.00 in"),
    ],
)
def test_numbers_are_shown_as_people_use_them(value, dimension, metric, us):
    assert format_quantity(value, dimension, "metric") == metric
    assert format_quantity(value, dimension, "us") == us
    assert both_systems(value, dimension) == (metric if metric == us else f"{metric} ({us})")


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_what_is_not_a_number_is_never_shown(bad):
    with pytest.raises(ValueError, match="no number to show"):
        format_quantity(bad, "volume", "us")


def test_both_systems_reads_as_in_a_plan():
    assert both_systems(parse_quantity("8 ft", "length"), "length") == "2.44 m (8.0 ft)"


@given(dimension=st.sampled_from(DIMENSIONS), system=st.sampled_from(SYSTEMS), value=st.floats(0, 1))
def test_what_is_shown_can_be_read_back(dimension, system, value):
    top = {"ratio": 1, "latitude": 90, "longitude": 180, "percent": 100}.get(dimension, 2000)
    number = value * top
    text = format_quantity(number, dimension, system)
    digits, unit = text.split(" ", 1)
    if dimension in ANGLES:
        step = 10.0**-2
    else:
        decimals = len(digits.partition(".")[2])
        one, none = (convert(each, unit, dimension) for each in (1.0, 0.0))
        step = abs(one - none) * 10.0**-decimals
    assert abs(parse_quantity(text, dimension) - number) <= step / 2 * (1 + 1e-9) + 1e-12


@given(
    system=st.sampled_from(SYSTEMS),
    dimension=st.sampled_from(sorted(CANONICAL)),
    values=st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=5),
)
def test_display_is_the_inverse_of_convert(system, dimension, values):
    array = np.array(values)
    before = array.copy()
    shown = to_display(array, dimension, system)
    np.testing.assert_allclose(
        convert(shown, unit_label(dimension, system), dimension), before, rtol=1e-12, atol=1e-9
    )
    np.testing.assert_array_equal(array, before)
    assert to_display(values[0], dimension, system) == pytest.approx(shown[0])


@given(feet=st.integers(0, 60), inches=st.integers(0, 11))
def test_feet_and_inches_are_a_sum(feet, inches):
    expected = parse_quantity(f"{12 * feet + inches} in", "length")
    assert parse_quantity(f"{feet} ft {inches} in", "length") == expected
    assert parse_quantity(f"{feet}'{inches}\"", "length") == expected


@given(number=st.decimals(0, 10_000, places=3))
def test_one_amount_in_both_systems_is_one_number(number):
    assert parse_quantity(f"{number} in", "water_depth") == parse_quantity(
        f"{number * Decimal('25.4')} mm", "water_depth"
    )
    assert parse_quantity(f"{number} gal", "volume") == parse_quantity(
        f"{number * Decimal('3.785411784')} L", "volume"
    )


MESS = st.one_of(
    st.text(max_size=30),
    st.text(alphabet="0123456789 ./,-+eE'\"°%²³ftingalmhdNSEWCFpsiLk*^()_", max_size=30),
    st.integers(),
    st.floats(),
    st.none(),
    st.lists(st.text(max_size=3), max_size=2),
)


@given(text=MESS, dimension=st.sampled_from(DIMENSIONS))
@example(text="1 m9", dimension="length")
@example(text="1 m**9**9", dimension="length")
@example(text="1 __import__", dimension="length")
@example(text="1 ²", dimension="area")
@example(text="١ m", dimension="length")
def test_any_input_gives_a_finite_number_or_a_unit_error(text, dimension):
    try:
        outcome = parse_quantity(text, dimension)
    except UnitError as error:
        outcome = error
    assert (outcome.found and outcome.wanted) if isinstance(outcome, UnitError) else math.isfinite(outcome)


@pytest.mark.parametrize(
    ("values", "unit", "dimension", "expected"),
    [
        ([32, 212], "degF", "temperature", [0, 100]),
        ([32, 212], "°F", "temperature", [0, 100]),
        ([10, 20], "degC", "temperature", [10, 20]),
        ([1, 2], "in", "water_depth", [25.4, 50.8]),
        ([1], "mm", "water_depth", [1]),
        ([36], "km/h", "speed", [10]),
        ([10], "mph", "speed", [4.4704]),
        ([18], "kn", "speed", [9.26]),
        ([1], "kWh/m2", "radiation", [3.6]),
        ([1000], "Wh/m²", "radiation", [3.6]),
        ([100], "W/m2", "radiation", [8.64]),
        ([500], "langley", "radiation", [20.92]),
        ([50], "%", "percent", [50]),
        ([0.5], "fraction", "percent", [50]),
        ([90], "min", "hours", [1.5]),
        ([1013], "hPa", "pressure", [101.3]),
    ],
)
def test_columns_are_converted_without_touching_them(values, unit, dimension, expected):
    column = np.array(values)
    before = column.copy()
    np.testing.assert_allclose(convert(column, unit, dimension), expected, rtol=1e-12, atol=1e-12)
    np.testing.assert_array_equal(column, before)
    assert convert(values, unit, dimension).dtype == np.float64


def test_conversion_never_hands_back_the_same_array_and_keeps_gaps():
    column = np.array([1.0, math.nan])
    result = convert(column, "mm", "water_depth")
    assert not np.shares_memory(result, column)
    assert math.isnan(result[1])


@pytest.mark.parametrize(
    ("unit", "dimension", "found"),
    [
        ("", "temperature", 'unknown unit ""'),
        ("mm", "temperature", "is a length"),
        ("degX", "temperature", 'unknown unit "degX"'),
        ("mm/h", "water_depth", "is a depth of water per hour"),
        ("kg", "water_depth", "is not a depth of water"),
        ("deg", "latitude", 'unknown unit "deg"'),
    ],
)
def test_column_units_of_another_dimension_are_refused(unit, dimension, found):
    with pytest.raises(UnitError) as caught:
        convert([1.0], unit, dimension)
    assert found in str(caught.value)


@pytest.mark.parametrize("unit", ["m³", "ccf", "Gal", "l"])
def test_billing_units_are_read_in_any_case(unit):
    assert convert_volume_units(unit) > 0


@pytest.mark.parametrize("unit", ["", "acre ft", "ft", "mL", "imp gal"])
def test_other_billing_units_are_refused(unit):
    with pytest.raises(UnitError, match="not a billing unit") as caught:
        convert_volume_units(unit)
    assert "CCF" in caught.value.wanted


def test_usual_units_cost_no_heavy_import():
    code = (
        "import sys; from scheduler.garden.units import both_systems, parse_quantity;"
        "both_systems(parse_quantity('4 ft 6 in', 'length'), 'length'); parse_quantity('5 gal/min', 'flow');"
        "print(*sorted({'pint', 'numpy', 'pandas'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == ""
