"""Flow tests of beds and tests of the water: read, checked, shared, told back."""

from datetime import date

import pytest

from scheduler.garden.describe import describe_plan
from scheduler.garden.plan import WaterTest

METER = '\n[meter]\ncapacity = "1000000 gal"\nsmallest_digit = "0.1 gal"\n'
SECOND_BED = """
[[bed]]
name = "low bed"
zone = "north"
soil = "mix"
shape = "rectangle"
length = "10 ft"
width = "4 ft"
soil_depth = "14 in"
drip = "line"
runs = 1
"""
SOUTH = """
[[zone]]
name = "south"
outlet = 2
rule = "driest bed"
"""


def flow_test(**keys):
    given = {"bed": '"tall bed"', "on": "2026-05-30", "minutes": '"10 min"', "volume": '"14 L"'} | keys
    lines = [f"{key} = {value}" for key, value in given.items() if value is not None]
    return "\n[[flow_test]]\n" + "\n".join(lines) + "\n"


def cup_test(on, volume="38 mL"):
    return f'\n[[cup_test]]\nbed = "tall bed"\non = {on}\nminutes = "1 min"\nvolumes = {[volume] * 8}\n'


def by_meter(before, after, **keys):
    return flow_test(volume=None, meter_from=f'"{before}"', meter_to=f'"{after}"', **keys)


def test_a_bucket_of_the_whole_bed(changed, garden_of):
    (bed,) = garden_of(changed() + flow_test()).beds
    assert bed.flow_test.method == "bucket"
    assert bed.measured_flow == pytest.approx(84.0)
    assert bed.newest_test is bed.flow_test


def test_readings_of_the_meter(changed, garden_of):
    (bed,) = garden_of(changed() + METER + by_meter("100.0 gal", "112.0 gal", minutes='"30 min"')).beds
    assert bed.flow_test.method == "meter"
    assert bed.measured_flow == pytest.approx(24.0 * 3.785411784)
    assert bed.flow_test.smallest_digit == pytest.approx(0.3785411784)


def test_a_meter_that_went_past_zero(changed, garden_of):
    (bed,) = garden_of(changed() + METER + by_meter("999996 gal", "2 gal", minutes='"15 min"')).beds
    assert bed.measured_flow == pytest.approx(24.0 * 3.785411784)


def test_the_newest_test_of_a_bed_counts(changed, garden_of):
    older, newer = flow_test(on="2026-05-01", volume='"12 L"'), flow_test(on="2026-05-30")
    for text in (older + newer, newer + older):
        (bed,) = garden_of(changed() + text).beds
        assert bed.flow_test.on == date(2026, 5, 30)


@pytest.mark.parametrize(
    ("cups", "method"), [("2026-05-29", "flow"), ("2026-05-30", "flow"), ("2026-05-31", "cups")]
)
def test_cups_count_only_if_they_are_newer(changed, garden_of, cups, method):
    (bed,) = garden_of(changed() + flow_test() + cup_test(cups)).beds
    assert bed.newest_test is (bed.cup_test if method == "cups" else bed.flow_test)
    assert bed.measured_flow == pytest.approx(0.038 * 60 * bed.emitters if method == "cups" else 84.0)


def test_beds_measured_together_share_the_water_by_their_printed_flows(changed, garden_of):
    together = flow_test(bed=None, beds='["tall bed", "low bed"]', volume='"21 L"')
    tall, low = garden_of(changed() + SECOND_BED + together).beds
    assert tall.flow_test is low.flow_test
    assert tall.measured_flow + low.measured_flow == pytest.approx(126.0)
    assert tall.measured_flow == pytest.approx(2 * low.measured_flow)


@pytest.mark.parametrize(
    ("text", "where", "found", "wanted"),
    [
        (flow_test(bed='"tal bed"'), "flow_test 1 > bed", 'no bed "tal bed"', '"tall bed"'),
        (flow_test(beds='["tall bed", "low bed"]'), "flow_test 1", "gives bed and beds", "beds = [...]"),
        (flow_test(bed=None), "flow_test 1", "names no bed", 'bed = "tall bed"'),
        (flow_test(bed=None, beds='["tall bed"]'), "flow_test 1 > beds", "1 entry", "at least 2"),
        (flow_test(bed=None, beds='["tall bed", "tall bed"]'), "flow_test 1 > beds", "twice", "once"),
        (flow_test(minutes="10"), "flow_test 1 > minutes", "no unit", "write a time"),
        (flow_test(minutes='"0 min"'), "flow_test 1 > minutes", "zero", "above zero"),
        (flow_test(minutes='"2 days"'), "flow_test 1 > minutes", "longer than a day", "10 min"),
        (flow_test(volume="12"), "flow_test 1 > volume", "no unit", "write a volume"),
        (flow_test(volume='"12 gal/h"'), "flow_test 1 > volume", "a flow", "write a volume"),
        (flow_test(volume='"0 L"'), "flow_test 1 > volume", "zero", "above zero"),
        (flow_test(volume=None), "flow_test 1", "not how much water", "meter_from"),
        (flow_test(meter_from='"1 gal"'), "flow_test 1", "a volume and readings", "one of them"),
        (flow_test(volume=None, meter_from='"1 gal"'), "flow_test 1 > meter_to", "missing", "after"),
        (flow_test(volume=None, meter_to='"1 gal"'), "flow_test 1 > meter_from", "missing", "before"),
        (by_meter("1 gal", "5 gal"), "flow_test 1 > meter_to", "does not describe the meter", "[meter]"),
        (METER + by_meter("5 gal", "5 gal"), "flow_test 1 > meter_to", "alike", "has moved"),
        (METER + by_meter("5 gal", "1000000 gal"), "flow_test 1 > meter_to", "more than the meter", "shows"),
        (flow_test() * 2, "flow_test 2", "a second test", "keep the better"),
        (flow_test(litres='"3 L"'), "flow_test 1 > litres", "unknown", "minutes"),
        (flow_test(volume='"150 L"'), 'flow_test of bed "tall bed" (2026-05-30)', "the print says", "leak"),
        (flow_test(volume='"1.4 L"'), 'flow_test of bed "tall bed" (2026-05-30)', "the print says", "leak"),
    ],
)
def test_what_is_wrong_with_a_flow_test_is_told(changed, faults_of, text, where, found, wanted):
    faults = [fault for fault in faults_of(changed() + text) if fault.where == where]
    assert len(faults) == 1
    assert found in faults[0].found
    assert wanted in faults[0].wanted


def test_readings_exchanged_are_more_water_than_a_bed_takes(changed, faults_of):
    faults = faults_of(changed() + METER + by_meter("112 gal", "100 gal", minutes='"30 min"'))
    (fault,) = [fault for fault in faults if fault.where.startswith("flow_test")]
    assert "the print says" in fault.found


def test_all_faults_of_a_flow_test_come_at_once(changed, faults_of):
    text = flow_test(bed='"tal bed"', on='"2026-05-30"', minutes="10", volume='"14 in"')
    assert {fault.where for fault in faults_of(changed() + text)} == {
        f"flow_test 1 > {key}" for key in ("bed", "on", "minutes", "volume")
    }


def test_beds_of_two_zones_are_not_measured_together(changed, faults_of):
    apart = SECOND_BED.replace('"north"', '"south"')
    together = flow_test(bed=None, beds='["tall bed", "low bed"]')
    (fault,) = faults_of(changed() + SOUTH + apart + together)
    assert (fault.where, fault.found) == ("flow_test 1 > beds", 'they are in zones "north", "south"')


def test_a_flow_test_counts_against_the_tap(changed, faults_of):
    weak = changed(('flow = "5 gal/min"', 'flow = "0.5 gal/min"'))
    (fault,) = faults_of(weak + flow_test(volume='"25 L"'))
    assert fault.where == 'zone "north"'
    assert "by their tests" in fault.found


def test_a_bed_of_which_a_quarter_is_shut_has_no_run_time(changed, faults_of):
    dry = cup_test("2026-05-30").replace("'38 mL', '38 mL'", "'0 mL', '0 mL'", 1)
    (fault,) = faults_of(changed() + dry)
    assert fault.where == 'cup_test of bed "tall bed" (2026-05-30)'
    assert "2 of 8 cups stayed dry: 1, 2" in fault.found


def test_one_dry_cup_of_eight_is_an_answer(changed, garden_of):
    dry = cup_test("2026-05-30").replace("'38 mL'", "'0 mL'", 1)
    assert garden_of(changed() + dry).beds[0].cup_test.volumes[0] == 0.0


def test_what_looks_unusual_is_told(changed, garden_of):
    text = METER + cup_test("2026-05-01", "20 mL") + by_meter("100.0 gal", "100.9 gal", minutes='"3 min"')
    notes = [str(note) for note in garden_of(changed() + text).assumed if note.where == 'bed "tall bed"']
    assert any("smallest steps" in note for note in notes)
    assert any("apart; the flow test counts" in note for note in notes)
    assert not any(", the print" in note for note in notes)
    far = garden_of(changed() + flow_test(volume='"4 L"')).assumed
    assert any("its flow test makes 24.0 L/h" in str(note) for note in far)


def test_tests_are_told_back(changed, garden_of):
    lines = {(place, what): value for place, what, value in describe_plan(garden_of(changed() + flow_test()))}
    assert lines['bed "tall bed"', "flow test of 2026-05-30"] == "by bucket"
    assert lines['bed "tall bed"', "water that it took"] == "14 L (3.7 gal)"
    assert lines['bed "tall bed"', "flow by its newest test"] == "84.0 L/h (22.2 gal/h)"


WATER = """flow = "5 gal/min"
suspended_solids = "30 mg/L"
dissolved_solids = "400 mg/L"
hardness = "10 gpg"
iron = "300 ug/L"
manganese = "0.02 ppm"
hydrogen_sulfide = "0 mg/L"
ph = 7.2
bacteria = "500 CFU/100 mL"
"""


def test_a_water_test_is_read_and_told_back(changed, garden_of):
    garden = garden_of(changed(('flow = "5 gal/min"\n', WATER)))
    assert garden.water_source.test == WaterTest(
        suspended_solids=30.0,
        ph=7.2,
        dissolved_solids=400.0,
        manganese=0.02,
        # 64.79891 mg in 3.785411784 L.
        hardness=pytest.approx(171.1806, abs=1e-3),
        iron=pytest.approx(0.3),
        hydrogen_sulfide=0.0,
        bacteria=5.0,
    )
    lines = {what: value for place, what, value in describe_plan(garden) if place == "water_source"}
    assert (lines["iron"], lines["pH"], lines["bacteria"]) == ("0.30 mg/L", "7.2", "5 per mL")


def test_water_that_was_not_tested_is_not_told(changed, garden_of):
    garden = garden_of(changed())
    assert garden.water_source.test == WaterTest()
    assert not [what for _, what, _ in describe_plan(garden) if what in {"iron", "pH", "bacteria"}]


@pytest.mark.parametrize(
    ("line", "key", "found", "wanted"),
    [
        ("iron = 0.3", "iron", "no unit", "mg/L"),
        ('iron = "300 mg/L"', "iron", "300.00 mg/L", "micrograms"),
        ('iron = "0.3 gal"', "iron", "a volume, not a concentration", "mg/L"),
        ('iron = "-1 mg/L"', "iron", "below zero", "mg/L"),
        ('manganese = "60 mg/L"', "manganese", "60.00 mg/L", "micrograms"),
        ('hydrogen_sulfide = "60 mg/L"', "hydrogen_sulfide", "60.00 mg/L", "micrograms"),
        ('suspended_solids = "6000 mg/L"', "suspended_solids", "6000.00 mg/L", "mud"),
        ('dissolved_solids = "35000 mg/L"', "dissolved_solids", "35000.00 mg/L", "sea water"),
        ('hardness = "4000 mg/L"', "hardness", "4000.00 mg/L", "grain"),
        ('ph = "7.2"', "ph", "not a plain number", "0 to 14"),
        ("ph = 15", "ph", "out of range", "0 to 14"),
        ("ph = 1.5", "ph", "not of water for plants", "6 to 9"),
        ('bacteria = "12000"', "bacteria", "no unit", "per mL"),
        ('bacteria = "12000 mg/L"', "bacteria", "a concentration, not a number in a volume", "per mL"),
        ('bacteria = "90000000 per mL"', "bacteria", "90000000 per mL", "100 mL"),
    ],
)
def test_what_is_wrong_with_a_water_test_is_told(changed, faults_of, line, key, found, wanted):
    (fault,) = faults_of(changed(('flow = "5 gal/min"\n', f'flow = "5 gal/min"\n{line}\n')))
    assert fault.where == f"water_source > {key}"
    assert found in fault.found
    assert wanted in fault.wanted
