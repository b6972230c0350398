"""Every bad plan is refused with the place, what was found and what would be right."""

from __future__ import annotations

import pytest

# Old text, new text, place, part of what was found, part of what is wanted.
BAD_VALUES = [
    ("format = 1", "format = 2", "format", "2 is out of range", "1"),
    ('latitude = "44.6 N"', "latitude = 44.6", "site > latitude", "44.6", '"44.6 N"'),
    ('latitude = "44.6 N"', 'latitude = "95 N"', "site > latitude", "95 N", "44.6 N"),
    ('latitude = "44.6 N"', 'latitude = "44.6 W"', "site > latitude", "44.6 W", "44.6 N"),
    ('elevation = "230 ft"', 'elevation = "-2 km"', "site > elevation", "-2 km", "above sea level"),
    ('"Etc/GMT+1"', '"Etc/GTM+1"', "site > timezone", "not a time zone", 'did you mean "Etc/GMT+1"?'),
    ('"Etc/GMT+1"', '"America"', "site > timezone", "not a time zone", "America/"),
    ('"Etc/GMT+1"', '"../zone"', "site > timezone", "not a time zone", "IANA"),
    ('"10 ft"\n\n[soil', '"400 ft"\n\n[soil', "weather > wind_height", "121.92 m", "height of the sensor"),
    ('"weather.csv"', '" "', "weather > file", "empty", "weather.csv"),
    ('length = "10 ft"', "length = 10", 'bed "tall bed" > length', "10 has no unit", '"10 in"'),
    ('length = "10 ft"', 'length = "10"', 'bed "tall bed" > length', "no unit", '"10 in"'),
    ('length = "10 ft"', 'length = "8 gal"', 'bed "tall bed" > length', "volume", "length"),
    ('length = "10 ft"', 'length = "0 ft"', 'bed "tall bed" > length', "zero", "above zero"),
    ('length = "10 ft"', 'length = "120 ft"', 'bed "tall bed" > length', "36.58 m", "were inches meant"),
    ('length = "10 ft"\n', "", 'bed "tall bed" > length', "missing", 'length = "8 ft"'),
    ('length = "10 ft"', 'lenght = "10 ft"', 'bed "tall bed" > lenght', "unknown", 'did you mean "length"?'),
    ('"rectangle"', '"rectangel"', 'bed "tall bed" > shape', "rectangel", 'did you mean "rectangle"?'),
    ('"rectangle"', '"circle"', 'bed "tall bed" > diameter', "missing", 'diameter = "6 ft"'),
    ('"rectangle"', '"circle"', 'bed "tall bed" > length', "no meaning", "diameter"),
    ('"rectangle"', '"circle"', 'bed "tall bed" > runs', "no length", "rings"),
    ('width = "4 ft"', 'width = "12 ft"\nend_gap = "6 ft"', 'bed "tall bed" > end_gap', "no room", "smaller"),
    ('soil_depth = "14 in"', 'soil_depth = "14 ft"', 'bed "tall bed" > soil_depth', "4.27 m", "unit right"),
    ('soil_depth = "14 in"', 'soil_depth = "14 mm"', 'bed "tall bed" > soil_depth', "1.4 cm", "2 in to 4 ft"),
    ('zone = "north"', 'zone = "nort"', 'bed "tall bed" > zone', 'no zone "nort"', '"north"'),
    ('soil = "mix"', 'soil = "mixx"', 'bed "tall bed" > soil', 'no soil mix "mixx"', '"mix"'),
    ('drip = "line"', 'drip = "lime"', 'bed "tall bed" > drip', 'no drip line "lime"', '"line"'),
    ("runs = 2\n", "", 'bed "tall bed"', "how much drip line", "runs = 2"),
    ("runs = 2\n", 'runs = 2\nline_length = "9 ft"\n', 'bed "tall bed"', "runs and line_length", "keep one"),
    ("runs = 2\n", "runs = 2.0\n", 'bed "tall bed" > runs', "not a whole number", "2"),
    ("runs = 2\n", "runs = 0\n", 'bed "tall bed" > runs', "out of range", "1 to 200"),
    ("runs = 2\n", 'line_length = "4 in"\n', 'bed "tall bed"', "shorter than one", "unit of the line"),
    (
        "runs = 2\n",
        'line_length = "9 ft"\nend_gap = "3 in"\n',
        'bed "tall bed" > end_gap',
        "no effect",
        "runs",
    ),
    ("runs = 2\n", 'runs = 2\nlong = "yes"\n', 'bed "tall bed" > long', '"yes"', "true or false"),
    ("runs = 2\n", 'runs = 2\nneed = "mean"\n', 'bed "tall bed" > need', '"mean"', '"area mean"'),
    ("runs = 2\n", "runs = 90\n", 'zone "north"', "3883", "another zone"),
    ('"0.6 gal/h"', '"0.6 gal/min"', 'drip "line" > emitter_flow', "136.3 L/h", "gal/h meant"),
    ('"0.6 gal/h"', '"0.6 L/d"', 'drip "line" > emitter_flow', "L/d", "0.05 gal/h"),
    ("exponent = 0.5", "exponent = 1.5", 'drip "line" > exponent', "out of range", "0 to 1"),
    ("exponent = 0.5", 'exponent = "half"', 'drip "line" > exponent', "not a plain number", "0.5"),
    ("exponent = 0.5", "exponent = 0.5\nefficiency = 90", 'drip "line" > efficiency', "90", "0.90"),
    (
        "exponent = 0.5",
        'exponent = 0.5\nefficiency = "9 %"',
        'drip "line" > efficiency',
        "9 %",
        "30 % to 100 %",
    ),
    ('spacing = "6 in"', 'spacing = "6 mm"', 'drip "line" > emitter_spacing', "6 mm", "1 in to 6 ft"),
    ('flow = "5 gal/min"', 'flow = "5 gal/h"', "water_source > flow", "5.0 gal/h", "gal/min meant"),
    ('flow = "5 gal/min"', 'flow = "500 gal/min"', "water_source > flow", "500 gal/min", "60 gal/min"),
    (
        'flow = "5 gal/min"',
        'flow = "5 gal/min"\nflow_house_busy = "6 gal/min"',
        "water_source > flow_house_busy",
        "above the flow",
        "exchanged",
    ),
    ("outlet = 1", "outlet = 5", 'zone "north" > outlet', "outlet 5", "1 to 2"),
    (
        'rule = "driest bed"',
        'rule = "driest"',
        'zone "north" > rule',
        '"driest"',
        'did you mean "driest bed"?',
    ),
    (
        'field_capacity = "32 %"',
        'field_capacity = "12 %"',
        'soil "mix" > wilting_point',
        "not below",
        "exchanged",
    ),
    ('wilting_point = "13 %"\n', "", 'soil "mix"', "field_capacity alone", "wilting_point"),
    (
        'field_capacity = "32 %"\nwilting_point = "13 %"',
        'texture = "sandy lome"',
        'soil "mix" > texture',
        '"sandy lome"',
        'did you mean "sandy loam"?',
    ),
    ('field_capacity = "32 %"', 'texture = "loam"', 'soil "mix"', "texture and wilting_point", "say one"),
    ("[soil.mix]", "[soil]", "soil > field_capacity", "without a name", '[soil."a name"]'),
    (
        'crop = "tomato"',
        'crop = "tomatoe plant"',
        'bed "tall bed" > planting 1 (tomatoe plant) > crop',
        "not in the crop table",
        "tomato",
    ),
    (
        "2026-05-12",
        '"03/04/2025"',
        'bed "tall bed" > planting 1 (tomato) > planted',
        '"03/04/2025"',
        "2026-05-12",
    ),
    (
        "2026-05-12",
        "2026-05-12T07:00:00",
        'bed "tall bed" > planting 1 (tomato) > planted',
        "time",
        "2026-05-12",
    ),
    ("2026-05-12", "2026-11-12", 'bed "tall bed" > planting 1 (tomato) > removed', "not after", "exchanged"),
    (
        "2026-10-02",
        "2028-10-02",
        'bed "tall bed" > planting 1 (tomato)',
        "874 days",
        "one planting for each year",
    ),
    ('share = "60 %"', 'share = "61 %"', 'bed "tall bed" > planting', "101 % on 2026-05-12", "100 %"),
    ('share = "60 %"', "share = 60", 'bed "tall bed" > planting 1 (tomato) > share', "60", "60 %"),
    (
        'share = "60 %"',
        'root_depth = "20 in"',
        'bed "tall bed" > planting 1 (tomato) > root_depth',
        "below the bed",
        "depth of the soil",
    ),
    (
        'share = "60 %"',
        'stages = ["9 days"]',
        'bed "tall bed" > planting 1 (tomato) > stages',
        "1 entry",
        "at least 4",
    ),
    (
        'share = "60 %"',
        'stages = ["9 d", "9 d", "9 ft", "9 d"]',
        'bed "tall bed" > planting 1 (tomato) > stages > stage 3',
        "length",
        "days",
    ),
    (
        'share = "60 %"',
        "crop_coefficients = { initial = 0.6, mid = 1.1, late = 0.8 }",
        'bed "tall bed" > planting 1 (tomato) > crop_coefficients > source',
        "missing",
        "source =",
    ),
    (
        'share = "60 %"',
        'crop_coefficients = { initial = 6, mid = 1.1, late = 0.8, source = "x" }',
        'bed "tall bed" > planting 1 (tomato) > crop_coefficients > initial',
        "6",
        "0.1 to 1.6",
    ),
    (
        'share = "40 %"',
        "staked = true",
        'bed "tall bed" > planting 2 (lettuce) > staked',
        "no figure",
        "leave",
    ),
    ('depletion = "full"', 'depletion = "dry"', "soil_state 1 > depletion", '"dry"', '"at limit"'),
    ("on = 2026-04-01", "on = 2026-05-01", "soil_state", "first planting is on 2026-04-20", "[[soil_state]]"),
    (
        'depletion = "full"',
        'depletion = "full"\nbed = "tall bed"',
        "soil_state",
        "no state for all beds",
        "without",
    ),
    (
        'depletion = "full"',
        'depletion = "full"\nbed = "tal bed"',
        "soil_state 1 > bed",
        'no bed "tal bed"',
        '"tall bed"',
    ),
    ('step = "1 min"', 'step = "90 s"', "timer > step", "whole number of minutes", "1 min"),
    ('step = "1 min"', "step = 1", "timer > step", "no unit", "min"),
    (
        'step = "1 min"',
        'step = "5 min"\nshortest_run = "7 min"',
        "timer > shortest_run",
        "steps",
        "multiple of 5",
    ),
    (
        '"120 min"',
        '"120 min"\nshortest_run = "3 h"',
        "timer > longest_run",
        "shorter than",
        "180 min or more",
    ),
    ('"120 min"', '"120 h"', "timer > longest_run", "longer than a day", "60 min"),
    ('"120 min"', '"120 min"\nday_choices = ["odd"]', "timer > day_choices > entry 1", '"odd"', '"weekdays"'),
    ("to = 09:00:00", "to = 05:00:00", "watering_window 1", "opens and closes at 05:00:00", "23:59:59"),
    ("to = 09:00:00", "to = 05:00:30", "watering_window 1", "open for 0.5 min", "shortest run takes 1 min"),
    ("to = 09:00:00", 'to = "9 am"', "watering_window 1 > to", '"9 am"', "without quotes"),
    (
        "to = 09:00:00",
        'to = 09:00:00\ndays = ["Tues"]',
        "watering_window 1 > days > day 1",
        '"Tues"',
        'did you mean "Tue"?',
    ),
    (
        "to = 09:00:00",
        'to = 09:00:00\ndays = ["Tue", "Tue"]',
        "watering_window 1 > days",
        "Tue stands twice",
        "once",
    ),
    ("from = 05:00:00\n", "", "watering_window 1 > from", "missing", "from = 05:00:00"),
    ('fixed_charge = "9.40"', "fixed_charge = 9.40", "tariff > fixed_charge", "9.4 is not text", '"9.40"'),
    (
        'fixed_charge = "9.40"',
        'fixed_charge = "$9.40"',
        "tariff > fixed_charge",
        '"$9.40"',
        "no currency sign",
    ),
    ('"2.10 per CCF"', '"2.10"', "tariff > block 1 > price", '"2.10"', "2.10 per CCF"),
    ('"2.10 per CCF"', '"2.10 per barrel"', "tariff > block 1 > price", "barrel", "m3, CCF, kgal"),
    ('"2.10 per CCF"', '"2.10 per 0 gal"', "tariff > block 1 > price", "no water", "per CCF"),
    ('up_to = "7 CCF"', 'up_to = "7 ft"', "tariff > block 1 > up_to", "ft", "CCF"),
    ('up_to = "7 CCF"\n', "", "tariff > block 1 > up_to", "missing", "only the last"),
    (
        'price = "3.64',
        'up_to = "9 CCF"\nprice = "3.64',
        "tariff > block 2 > up_to",
        "without a price",
        "leave it out",
    ),
    (
        'price = "3.64',
        'up_to = "6 CCF"\nprice = "3.64',
        "tariff > block 2 > up_to",
        "not above",
        "more than 7 CCF",
    ),
    ('period = "1 month"', 'period = "monthly"', "tariff > period", '"monthly"', '"33 days"'),
    ('period = "1 month"', 'period = "0 days"', "tariff > period", '"0 days"', '"33 days"'),
    ('unit = "CCF"', 'unit = "acre foot"', "tariff > unit", "acre foot", "m3, CCF, kgal"),
    ("whole_units = true\n", "", "tariff > whole_units", "missing", "whole_units = true"),
    ("first_reading = 2026-01-15", "first_reading = 15", "tariff > first_reading", "15", "without quotes"),
    (
        '[household]\nuse_per_day = "180 gal"\n',
        "",
        "household",
        "missing, though there is a tariff",
        "use_per_day",
    ),
    ('use_per_day = "180 gal"', 'use_per_day = "180 gal/d"', "household > use_per_day", "flow", "volume"),
    ("[site]", "[sites]", "sites", "unknown at the top", 'did you mean "site"?'),
    (
        "[[watering_window]]\nfrom = 05:00:00\nto = 09:00:00\n",
        "",
        "watering_window",
        "missing",
        "[[watering_window]]",
    ),
    (
        '[[soil_state]]\non = 2026-04-01\ndepletion = "full"\n',
        "",
        "soil_state",
        "missing",
        "how wet the soil was",
    ),
    ("[[zone]]", "[zone]", "zone", "written as [zone]", "[[zone]]"),
    ("[timer]", "[[timer]]", "timer", "written as [[timer]]", "write [timer]"),
]


@pytest.mark.parametrize(("old", "new", "where", "found", "wanted"), BAD_VALUES)
def test_bad_value_is_refused_in_its_place(changed, faults_of, old, new, where, found, wanted):
    faults = faults_of(changed((old, new)))
    there = [fault for fault in faults if fault.where == where and found in fault.found]
    assert there, [str(fault) for fault in faults]
    assert any(wanted in fault.wanted for fault in there), [str(fault) for fault in there]


POLYGONS = [
    ('[["0 ft", "0 ft"], ["6 ft", "0 ft"]]', "has 2 entries"),
    ('[["0 ft", "0 ft"], ["6 ft", "3 ft"], ["6 ft", "0 ft"], ["0 ft", "3 ft"]]', "cross"),
    ('[["0 ft", "0 ft"], ["3 ft", "0 ft"], ["6 ft", "0 ft"]]', "lie on one line"),
    ('[["0 ft", "0 ft"], ["6 ft", "0 ft"], ["6 ft"]]', "has 1 entry"),
    ('[["0 ft", "0 ft"], ["6 ft", "0 ft"], ["6 ft", "300 ft"]]', "91.44 m"),
]


@pytest.mark.parametrize(("corners", "found"), POLYGONS)
def test_polygon_that_bounds_no_bed_is_refused(changed, faults_of, corners, found):
    text = changed(
        ('"rectangle"\nlength = "10 ft"\nwidth = "4 ft"', f'"polygon"\ncorners = {corners}'),
        ("runs = 2", 'line_length = "12 ft"'),
    )
    faults = faults_of(text)
    assert [fault.where for fault in faults][0].startswith('bed "tall bed" > corners')
    assert any(found in fault.found for fault in faults), [str(fault) for fault in faults]


def test_long_bed_is_taken_when_confirmed(changed, garden_of):
    text = changed(('length = "10 ft"', 'length = "70 ft"\nlong = true'))
    assert garden_of(text).beds[0].area == pytest.approx(280 * 0.3048**2)


def test_unknown_crop_needs_all_its_own_figures(changed, faults_of, garden_of):
    own = (
        'crop_coefficients = { initial = 0.5, mid = 1.0, late = 0.9, source = "a trial" }\n'
        'root_depth = "10 in"\ndepletion_fraction = "35 %"\nheight = "2 ft"\nshare = "60 %"\n'
    )
    named = ('crop = "tomato"', 'crop = "yacon"')
    faults = faults_of(changed(named, ('share = "60 %"', own)))
    assert [fault.where for fault in faults] == ['bed "tall bed" > planting 1 (yacon) > crop']
    assert "give stages as well" in faults[0].wanted
    stages = 'stages = ["20 days", "30 days", "40 days", "10 days"]\n'
    planting = garden_of(changed(named, ('share = "60 %"', own + stages))).beds[0].plantings[0]
    assert (planting.kc_mid, planting.source, planting.borrowed_from) == (1.0, "a trial", "")
    assert planting.stages.mid == 40


def test_all_faults_are_told_at_once(changed, faults_of):
    text = changed(
        ('latitude = "44.6 N"', "latitude = 44.6"),
        ('length = "10 ft"', "length = 10"),
        ('soil = "mix"', 'soil = "mud"'),
        ('drip = "line"', 'drip = "tape"'),
        ("removed = 2026-10-02", "removed = 2026-03-02"),
        ('crop = "lettuce"', 'crop = "lettice"'),
        ("outlet = 1", "outlet = 9"),
        ('up_to = "7 CCF"', "up_to = 7"),
        ('use_per_day = "180 gal"', 'use_per_day = "180"'),
    )
    places = [fault.where for fault in faults_of(text)]
    assert sorted(places) == sorted(
        [
            "site > latitude",
            'bed "tall bed" > length',
            'bed "tall bed" > soil',
            'bed "tall bed" > drip',
            'bed "tall bed" > planting 1 (tomato) > removed',
            'bed "tall bed" > planting 2 (lettice) > crop',
            'zone "north" > outlet',
            "tariff > block 1 > up_to",
            "household > use_per_day",
        ]
    )


def test_misspelt_key_is_told_once(changed, faults_of):
    for key, misspelt in (
        ("soil_depth", "soil_dept"),
        ("length", "lenght"),
        ("zone", "zon"),
        ("runs", "run"),
    ):
        faults = faults_of(changed((f"\n{key} = ", f"\n{misspelt} = ")))
        assert [(fault.where, fault.wanted) for fault in faults] == [
            (f'bed "tall bed" > {misspelt}', f'did you mean "{key}"?')
        ]


def test_shares_that_follow_each_other_may_fill_the_bed_twice(changed, garden_of):
    text = changed(
        ('share = "60 %"', 'share = "100 %"'),
        ('share = "40 %"', 'share = "100 %"'),
        ("2026-06-29", "2026-05-12"),
    )
    assert len(garden_of(text).beds[0].plantings) == 2
