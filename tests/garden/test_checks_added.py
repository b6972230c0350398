"""Tables and keys that are wrong when added to a right plan, each refused in its place."""

from __future__ import annotations

from datetime import date

import pytest

from scheduler.timetable.windows import allowed_spans

# Text put at the end of the plan, place, part of what was found, part of what is wanted.
CUPS = 'on = 2026-05-20\nminutes = "1 min"\nvolumes = ["38 mL", "36 mL", "39 mL", "37 mL"]\n'
BAD_ADDITIONS = [
    ("beds = 3\n", "household > beds", "unknown", "use_per_day"),
    (
        '[[zone]]\nname = "north"\noutlet = 2\nrule = "area mean"\n',
        'zone "north" > name',
        "second zone",
        "own name",
    ),
    (
        '[[zone]]\nname = "south"\noutlet = 1\nrule = "area mean"\n',
        'zone "south" > outlet',
        'feeds zone "north"',
        "one zone for each",
    ),
    (
        '[[zone]]\nname = "south"\noutlet = 2\nrule = "area mean"\n',
        'zone "south"',
        "no bed",
        'zone = "south"',
    ),
    (f'[[cup_test]]\nbed = "tal bed"\n{CUPS}', "cup_test 1 > bed", 'no bed "tal bed"', '"tall bed"'),
    (
        '[[cup_test]]\nbed = "tall bed"\non = 2026-05-20\nminutes = "1 min"\nvolumes = ["38 mL", "36 mL"]\n',
        "cup_test 1 > volumes",
        "2 entries",
        "at least 4",
    ),
    (
        f'[[cup_test]]\nbed = "tall bed"\n{CUPS}'.replace("38 mL", "38 in"),
        "cup_test 1 > volumes > cup 1",
        "length",
        "volume",
    ),
    (f'[[cup_test]]\nbed = "tall bed"\n{CUPS}' * 2, "cup_test 2", "second test", "one test"),
    ('[[soil_state]]\non = 2026-04-01\ndepletion = "8 mm"\n', "soil_state 2", "second state", "keep one"),
    (
        "[[restriction]]\nbegins = 2026-09-15\nends = 2026-07-01\n",
        "restriction 1 > ends",
        "before it begins",
        "exchanged",
    ),
    (
        "[[restriction]]\nbegins = 2026-07-01\nends = 2026-09-15\nfrom = 20:00:00\n",
        "restriction 1",
        '"from" alone',
        '"to"',
    ),
    (
        "[[restriction]]\nbegins = 2026-07-01\nends = 2026-09-15\nasked_on = 2026-09-16\n",
        "restriction 1 > asked_on",
        "2026-09-16 is after its last day, 2026-09-15",
        "the day on which you asked",
    ),
    (
        '[[restriction]]\nbegins = 2026-07-01\nends = 2026-09-15\nasked_on = "June"\n',
        "restriction 1 > asked_on",
        "June",
        "2026-06-20",
    ),
    (
        '[[restriction]]\nreason = "order"\nbegins = 2026-07-01\nends = 2026-09-15\nexempt = true\n',
        "restriction 1 (order) > exempt",
        "true",
        '"unknown"',
    ),
    ('[planning]\nreserve = "120 %"\n', "planning > reserve", "120 %", "85 %"),
    ('[planning]\nreserve = "95 %"\n', "planning > reserve", "95 %", "leaves none"),
    (
        '[tariff.sewer]\nrule = "winter average"\nprice = "3 per CCF"\n',
        "tariff > sewer > winter_average",
        "missing",
        '"6 CCF"',
    ),
    (
        '[tariff.sewer]\nrule = "cap"\nprice = "3 per CCF"\nwinter_average = "6 CCF"\n',
        "tariff > sewer > cap",
        "missing",
        '"150 %"',
    ),
    (
        '[tariff.sewer]\nrule = "all water"\nprice = "3 per CCF"\ncap = "150 %"\n',
        "tariff > sewer > cap",
        "no effect",
        "leave it out",
    ),
    ('[tariff.sewer]\nrule = "all water"\n', "tariff > sewer > price", "missing", "per CCF"),
    ('[tariff.sewer]\nrule = "all"\nprice = "3 per CCF"\n', "tariff > sewer > rule", '"all"', '"all water"'),
    (
        '[tariff.sewer]\nrule = "winter average"\naveraging_months = ["December"]\n',
        "tariff > sewer > averaging_months > entry 1",
        '"December"',
        "Dec",
    ),
    (
        '[weather.columns]\ntmx = { column = "T", unit = "degF" }\n',
        "weather > columns > tmx",
        "unknown",
        '"tmax"',
    ),
    ('[weather.columns]\ntmax = { column = "T" }\n', "weather > columns > tmax", "no unit", 'unit = "degF"'),
    (
        '[weather.columns]\ntmax = { column = "T", unit = "mm" }\n',
        "weather > columns > tmax > unit",
        '"mm"',
        "temperature",
    ),
    (
        '[weather.columns]\ndate = { column = "D", unit = "day" }\n',
        "weather > columns > date > unit",
        '"day"',
        "leave it out",
    ),
    ('[weather.fill]\nwind = "2"\n', "weather > fill > wind", "no unit", "m/s"),
    ('[weather.fill]\nwind = "40 m/s"\n', "weather > fill > wind", "40", "mean wind"),
    (
        '[weather.fill]\ndew_point_below_tmin = "2 degC"\n',
        "weather > fill > dew_point_below_tmin",
        "no effect",
        "humidity",
    ),
    (
        '[weather.fill]\nradiation_site = "coast"\n',
        "weather > fill > radiation_site",
        "no effect",
        "radiation",
    ),
    ('[weather.fill]\ngaps = "mean"\n', "weather > fill > gaps", '"mean"', '"mean of neighbours"'),
    ('[soil]\nloam = "yes"\n', "soil > loam", "without a name", '[soil."a name"]'),
]


@pytest.mark.parametrize(("addition", "where", "found", "wanted"), BAD_ADDITIONS)
def test_bad_addition_is_refused_in_its_place(changed, faults_of, addition, where, found, wanted):
    faults = faults_of(changed() + addition)
    there = [fault for fault in faults if fault.where.startswith(where) and found in fault.found]
    assert there, [str(fault) for fault in faults]
    assert any(wanted in fault.wanted for fault in there), [str(fault) for fault in there]


CUP_TEST = """
[[cup_test]]
bed = "tall bed"
on = 2026-06-01
minutes = "MINUTES"
volumes = ["120 mL", "125 mL", "118 mL", "121 mL"]
"""


def test_a_cup_test_far_off_the_print_is_a_slip(changed, faults_of):
    (fault,) = faults_of(changed() + CUP_TEST.replace("MINUTES", "4 h"))
    assert 'cup_test of bed "tall bed"' in fault.where
    assert "check minutes and volumes" in fault.wanted


def test_a_tap_that_gives_less_than_the_cups_say(changed, faults_of):
    weak = changed(('flow = "5 gal/min"', 'flow = "0.5 gal/min"'))
    faults = faults_of(weak + CUP_TEST.replace("MINUTES", "2 min"))
    assert any(fault.where.startswith("zone") for fault in faults)


def test_a_mix_that_is_mostly_water(changed, faults_of):
    (fault,) = faults_of(changed(('field_capacity = "32 %"', 'field_capacity = "90 %"')))
    assert "field_capacity" in fault.where


def test_a_line_that_would_flood_its_bed(changed, faults_of):
    faults = faults_of(changed(("runs = 2", "emitters = 4000")))
    assert any("put down" in fault.found for fault in faults) or any("zone" in f.where for f in faults)


BAN = """
[[restriction]]
reason = "no watering at all"
begins = 2026-08-01
ends = 2026-08-31
days = []
"""


def test_a_ban_on_every_day_can_be_written(changed, garden_of):
    (ban,) = [r for r in garden_of(changed() + BAN).restrictions if r.reason.startswith("no watering")]
    assert ban.days == ()
    assert allowed_spans(date(2026, 8, 3), garden_of(changed()).windows, [ban]) == []


def test_a_name_that_would_steer_the_terminal_is_refused(changed, faults_of):
    faults = faults_of(changed(('name = "Test garden"', 'name = "Test\\u001b[2J garden"')))
    assert any("cannot be shown" in fault.found for fault in faults)
    assert "\x1b" not in "".join(map(str, faults))
