"""Coefficients, stages by heat and first days of plantings: looked up, derived, told back, or refused."""

from __future__ import annotations

import pytest

from scheduler.garden.describe import describe_plan
from scheduler.garden.plan import HeatStages, StageLengths
from scheduler.garden.planfile import parse_plan
from scheduler.garden.tables import crop_names, crop_row

from .test_planfile import ODD_VALUES
from .test_schema import check

SHARE = 'share = "60 %"'
SINGLE = 'crop_coefficients = { initial = 0.5, mid = 1.0, late = 0.9, source = "a trial" }'
BASAL = 'basal_coefficients = { initial = 0.2, mid = 0.9, late = 0.8, source = "another trial" }'
HEAT = (
    'heat_stages = { base = "50 degF", upper = "86 degF", initial = "150 degC d", '
    'development = "350 degC d", mid = "1080 degF d", late = "400 degC d" }'
)
REST = 'ground_cover = "55 %"\nyield_response = 0.9\nestablishing = "10 days"'


@pytest.fixture
def planting_of(changed, garden_of):
    """Return a reader of the first planting of the test plan with lines added to it."""

    def read(*lines, crop="tomato"):
        text = changed(('crop = "tomato"', f'crop = "{crop}"'), (SHARE, "\n".join([SHARE, *lines])))
        return garden_of(text).beds[0].plantings[0]

    return read


class TestBasal:
    def test_table(self, planting_of):
        planting = planting_of()
        # FAO-56 Table 17, tomato: 0.15, 1.10, 0.60-0.80.
        assert (planting.kcb_ini, planting.kcb_mid, planting.kcb_end) == (0.15, 1.1, 0.6)

    def test_staked(self, planting_of):
        row = crop_row("tomato")
        planting = planting_of("staked = true")
        assert (planting.kc_mid, planting.kcb_mid) == (row.kc_mid_staked, row.kcb_mid_staked)
        assert planting.kcb_mid > row.kcb_mid

    def test_borrowed(self, planting_of):
        planting, lender = planting_of(crop="kale"), crop_row("cabbage")
        assert planting.borrowed_from == "cabbage"
        assert (planting.kcb_ini, planting.kcb_mid, planting.kcb_end) == (
            lender.kcb_ini,
            lender.kcb_mid,
            lender.kcb_end,
        )

    def test_own(self, planting_of):
        planting = planting_of(BASAL)
        assert (planting.kcb_ini, planting.kcb_mid, planting.kcb_end) == (0.2, 0.9, 0.8)
        assert (planting.kc_mid, planting.ky) == (crop_row("tomato").kc_mid, crop_row("tomato").ky)
        assert "basal crop coefficients are the plan's own" in planting.notes
        assert planting.source.endswith("; basal: another trial")

    def test_own_with_own_single(self, planting_of):
        planting = planting_of(SINGLE, BASAL)
        assert (planting.kc_mid, planting.kcb_mid) == (1.0, 0.9)
        assert planting.source == "a trial; basal: another trial"

    def test_derived_from_own_single(self, planting_of):
        planting = planting_of(SINGLE)
        assert (planting.kcb_ini, planting.kcb_mid, planting.kcb_end) == (0.15, 0.95, 0.85)
        assert planting.source == "a trial"
        (note,) = [note for note in planting.notes if note.startswith("basal")]
        assert "0.15, 0.95 and 0.85 derived" in note
        assert "Table 18, from memory" in note

    def test_derived_initial_is_never_above_the_single_one(self, planting_of):
        planting = planting_of(SINGLE.replace("initial = 0.5", "initial = 0.12"))
        assert planting.kcb_ini == 0.12


class TestYieldAndCover:
    def test_table(self, planting_of):
        # FAO-56 Table 24, tomato: 1.05.
        planting = planting_of()
        assert (planting.ky, planting.ground_cover) == (1.05, None)

    def test_unknown(self, planting_of):
        assert planting_of(crop="carrot").ky is None

    def test_own(self, planting_of):
        planting = planting_of(REST)
        assert (planting.ky, planting.ground_cover, planting.establishing_days) == (0.9, 0.55, 10.0)


class TestHeat:
    def test_stages(self, planting_of):
        planting = planting_of(HEAT)
        assert planting.heat == HeatStages(
            *(pytest.approx(value) for value in (10.0, 30.0, 150.0, 350.0, 600.0, 400.0))
        )
        stay = (planting.removed - planting.planted).days
        days = (stay * part / 1500 for part in (150, 350, 600, 400))
        assert planting.stages == StageLengths(*map(pytest.approx, days))
        assert any("143 days it stays are shared out" in note for note in planting.notes)
        assert not any("scaled" in note for note in planting.notes)

    def test_upper_may_be_left_out(self, planting_of):
        planting = planting_of(HEAT.replace('upper = "86 degF", ', ""))
        assert planting.heat.upper is None

    def test_a_crop_of_no_table_may_give_heat_for_days(self, planting_of):
        own = 'root_depth = "10 in"\ndepletion_fraction = "35 %"\nheight = "2 ft"'
        planting = planting_of(SINGLE, own, HEAT, crop="yacon")
        assert planting.heat.base == pytest.approx(10.0)
        assert planting.ky is None

    def test_lawn_has_no_stages_in_the_table(self, planting_of):
        assert planting_of(HEAT, crop="turf cool season").heat is not None


def test_first_days(planting_of):
    planting = planting_of()
    assert (planting.surface_wet_days, planting.establishing_days) == (0.0, 0.0)
    assert planting_of('keep_surface_wet = "2 weeks"').surface_wet_days == 14.0


def test_all_is_told_back_in_both_systems(changed):
    text = changed((SHARE, "\n".join([SHARE, SINGLE, BASAL, HEAT, REST])))
    check(text)
    garden, faults = parse_plan(text, source="garden.toml")
    assert faults == []
    place = 'bed "tall bed" > tomato'
    told = {what: value for where, what, value in describe_plan(garden) if where == place}
    for what, value in {
        "basal coefficients, initial, mid, late": "0.2, 0.9, 0.8",
        "yield response": "0.9",
        "ground cover in mid-season": "55 %",
        "establishing for": "10 days",
        "base temperature": "10.0 °C (50.0 °F)",
        "upper temperature": "30.0 °C (86.0 °F)",
        "heat of the initial stage": "150 °C d (270 °F d)",
        "heat of the mid-season stage": "600 °C d (1080 °F d)",
    }.items():
        assert told[what] == value
    sown = changed((SHARE, f'{SHARE}\nkeep_surface_wet = "12 days"'))
    garden, _ = parse_plan(sown, source="garden.toml")
    assert (place, "surface kept wet for", "12 days") in describe_plan(garden)


# Lines added to the first planting, place below it, part of what was found, part of what is wanted.
WRONG = [
    (BASAL.replace("0.9,", "1.9,"), "basal_coefficients > mid", "1.9 is out of range", "0.05 to 1.5"),
    (BASAL.replace(", late = 0.8", ""), "basal_coefficients > late", "missing", "1.0"),
    (BASAL.replace(', source = "another trial"', ""), "basal_coefficients > source", "missing", "2024"),
    (
        f"{SINGLE}\n{BASAL.replace('0.9,', '1.1,')}",
        "basal_coefficients > mid",
        "1.1 is above the 1 of crop_coefficients",
        "exchanged",
    ),
    ('yield_response = "high"', "yield_response", "not a plain number", "1.05"),
    ("yield_response = 5", "yield_response", "out of range", "0.1 to 2"),
    ('ground_cover = "0 %"', "ground_cover", "zero", "60 %"),
    ("ground_cover = 55", "ground_cover", "not a share", "55 %"),
    (
        f'{HEAT}\nstages = ["20 days", "30 days", "40 days", "10 days"]',
        "",
        "both stages and heat_stages",
        "keep one",
    ),
    (HEAT.replace('"86 degF"', '"45 degF"'), "heat_stages > upper", "not above the base", "exchanged"),
    (HEAT.replace('"86 degF"', '"10 degC"'), "heat_stages > upper", "not above the base", "exchanged"),
    (HEAT.replace('"50 degF"', '"50 degC"'), "heat_stages > base", "50.0 °C", "-5 to 25 degC"),
    (HEAT.replace('"50 degF"', "10"), "heat_stages > base", "10 has no unit", '"68 degF"'),
    (HEAT.replace('"150 degC d"', '"150 degC"'), "heat_stages > initial", "is a temperature", '"150 degC d"'),
    (HEAT.replace('"150 degC d"', '"30 days"'), "heat_stages > initial", "is a time", '"150 degC d"'),
    (HEAT.replace('"150 degC d"', '"20000 degC d"'), "heat_stages", "add up to 21350 °C d", "500 to 3000"),
    (HEAT.replace('base = "50 degF", ', ""), "heat_stages > base", "missing", '"10 degC"'),
    ('keep_surface_wet = "12"', "keep_surface_wet", "no unit", '"7 days"'),
    ('keep_surface_wet = "12 days"\nestablishing = "10 days"', "", "both keep_surface_wet", "keep the first"),
    ('keep_surface_wet = "200 days"', "keep_surface_wet", "longer than the 143 days", "stands by itself"),
    ('establishing = "0 days"', "establishing", "zero", '"10 days"'),
    ('establishing = "144 days"', "establishing", "longer than the 143 days", "stands by itself"),
]


@pytest.mark.parametrize(("text", "below", "found", "wanted"), WRONG)
def test_wrong_planting_is_refused_in_its_place(changed, faults_of, text, below, found, wanted):
    faults = faults_of(changed((SHARE, f"{SHARE}\n{text}")))
    where = 'bed "tall bed" > planting 1 (tomato)' + (f" > {below}" if below else "")
    there = [fault for fault in faults if fault.where == where and found in fault.found]
    assert there, [str(fault) for fault in faults]
    assert any(wanted in fault.wanted for fault in there), [str(fault) for fault in there]


def test_all_faults_of_a_planting_are_told_at_once(changed, faults_of):
    wrong = (
        'keep_surface_wet = "200 days"\nestablishing = "10 days"\nyield_response = 5\n'
        + HEAT.replace('"86 degF"', '"45 degF"')
        + '\nstages = ["20 days", "30 days", "40 days", "10 days"]'
    )
    faults = faults_of(changed((SHARE, f"{SHARE}\n{wrong}")))
    place = 'bed "tall bed" > planting 1 (tomato)'
    assert sorted(fault.where for fault in faults) == sorted(
        [
            *(place, place),
            *(f"{place} > keep_surface_wet", f"{place} > yield_response", f"{place} > heat_stages > upper"),
        ]
    )


@pytest.mark.parametrize("value", ODD_VALUES)
@pytest.mark.parametrize(
    "line", [BASAL, HEAT, *REST.splitlines(), 'keep_surface_wet = "9 days"'], ids=lambda line: line.split()[0]
)
def test_odd_values_give_faults_or_a_garden_and_never_a_crash(changed, line, value):
    text = changed((SHARE, f"{SHARE}\n{line.split(' = ')[0]} = {value}"))
    garden, faults = parse_plan(text, source="garden.toml")
    assert (garden is None) == bool(faults)


@pytest.mark.parametrize("crop", crop_names())
def test_every_crop_has_basal_coefficients_and_stakes_change_both(crop):
    row = crop_row(crop)
    assert min(row.kcb_ini, row.kcb_mid, row.kcb_end) > 0
    assert (row.kc_mid_staked is None) == (row.kcb_mid_staked is None)
    if row.kcb_mid_staked is not None:
        assert row.kcb_mid < row.kcb_mid_staked <= row.kc_mid_staked
