"""Names, borrowing and sanity of the crop and soil tables; printed figures are checked in tests/published."""

import csv
from importlib import resources

import pytest

from scheduler.errors import RillbookError
from scheduler.garden.tables import (
    UnknownNameError,
    crop_names,
    crop_row,
    nearest_crops,
    soil_names,
    soil_row,
    stage_choices,
)


def records(table):
    text = (resources.files("scheduler.garden.data") / f"{table}.csv").read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


ROWS = [crop_row(name) for name in crop_names()]
every_crop = pytest.mark.parametrize("row", ROWS, ids=lambda row: row.name)
LAWNS = {"turf cool season", "turf warm season"}


def test_there_are_enough_usable_crops():
    usable = [row for row in ROWS if row.stages is not None]
    assert len(usable) >= 45
    own = [row for row in usable if not row.borrowed_from and not row.stages_borrowed_from]
    assert len(own) >= 38


def test_every_printed_crop_is_offered():
    assert {record["crop"] for record in records("crops")} <= set(crop_names())


@every_crop
def test_coefficients_are_sane(row):
    assert 0.25 <= row.kc_ini <= row.kc_mid <= 1.25
    assert 0.25 <= row.kc_end <= row.kc_mid
    assert 0.1 <= row.kcb_ini <= row.kc_ini
    assert row.kcb_mid <= row.kc_mid
    assert row.kcb_end <= row.kc_end
    assert 0 < row.depletion_fraction < 0.8
    assert 0.1 <= row.height_m <= 5
    assert 0.1 <= row.root_max_low_m <= row.root_max_high_m <= 2
    if row.kc_mid_staked is not None:
        assert row.kc_mid < row.kc_mid_staked <= 1.25
    if row.ece_threshold_low is not None:
        assert 0 < row.ece_threshold_low <= row.ece_threshold_high
        assert 0 < row.slope_low <= row.slope_high


@every_crop
def test_every_row_names_its_source(row):
    assert "FAO-56 (1998)" in row.source


@every_crop
def test_stages_are_whole_days_within_a_year(row):
    assert (row.stages is None) == (row.name in LAWNS)
    for choice in stage_choices(row.name):
        assert min(choice.l_ini, choice.l_dev, choice.l_mid) > 0
        assert choice.l_late >= 0
        assert 30 <= choice.total <= 365
        assert choice.source == "FAO-56 (1998) Table 11"


@every_crop
def test_own_stages_come_first_among_the_choices(row):
    choices = stage_choices(row.name)
    if row.stages is None:
        assert choices == ()
    else:
        first = choices[0]
        assert (first.l_ini, first.l_dev, first.l_mid, first.l_late) == (
            row.stages.l_ini,
            row.stages.l_dev,
            row.stages.l_mid,
            row.stages.l_late,
        )


@pytest.mark.parametrize("record", records("crop_stages"), ids=lambda r: f"{r['crop']} {r['plant_month']}")
def test_printed_totals_are_the_sums_where_they_agree(record):
    stages = [float(record[key]) for key in ("l_ini", "l_dev", "l_mid", "l_late")]
    assert str(int(sum(stages))) in record["total_sum"].split("/")


@pytest.mark.parametrize("record", records("aliases"), ids=lambda r: r["alias"])
def test_every_alias_leads_to_a_crop(record):
    assert crop_row(record["alias"]).name == record["crop"]


def test_no_alias_hides_a_crop_or_another_alias():
    aliases = [record["alias"] for record in records("aliases")]
    parts = {part for name in crop_names() for part in (name, *name.split(" / "))}
    assert len(aliases) == len(set(aliases))
    assert not parts & set(aliases)


@pytest.mark.parametrize("record", records("borrowed"), ids=lambda r: f"{r['crop']}: {r['kind']}")
def test_what_is_borrowed_is_said(record):
    row, lender = crop_row(record["crop"]), crop_row(record["from"])
    assert lender.borrowed_from == ""
    assert record["reason"] in row.notes
    assert record["from"] in row.notes
    if record["kind"] == "values":
        assert row.borrowed_from == lender.name
        assert (row.kc_ini, row.kc_mid, row.kc_end) == (lender.kc_ini, lender.kc_mid, lender.kc_end)
    else:
        assert record["kind"] == "stages"
        assert row.stages_borrowed_from == lender.name
        assert row.stages == lender.stages
        assert lender.stages_borrowed_from == ""


def test_nothing_is_borrowed_in_silence():
    borrowed = {record["crop"] for record in records("borrowed")}
    assert {row.name for row in ROWS if row.borrowed_from or row.stages_borrowed_from} == borrowed


@pytest.mark.parametrize("record", records("crops"), ids=lambda r: r["crop"])
def test_a_printed_row_is_never_replaced_by_a_borrowed_one(record):
    row = crop_row(record["crop"])
    assert (row.borrowed_from == "") == (record["kc_mid"] != "")


@pytest.mark.parametrize(
    ("written", "name", "borrowed"),
    [
        ("Tomatoes", "tomato", ""),
        ("  cherry   Tomatoes ", "tomato", ""),
        ("zucchini", "zucchini / summer squash", ""),
        ("courgettes", "zucchini / summer squash", ""),
        ("green-beans", "bean green", ""),
        ("Bush beans", "bean green", ""),
        ("snap pea", "pea fresh", ""),
        ("beets", "beet table", ""),
        ("beetroot", "beet table", ""),
        ("radishes", "radish", ""),
        ("strawberries", "strawberry", ""),
        ("potatoes", "potato", ""),
        ("brussels sprouts", "brussels sprouts", ""),
        ("turnips", "turnip / rutabaga", ""),
        ("chard", "swiss chard", "spinach"),
        ("kale", "kale / collard", "cabbage"),
        ("collards", "kale / collard", "cabbage"),
        ("leeks", "leek", "onion green"),
        ("okra", "okra", "eggplant"),
        ("Basil", "basil and other soft herbs", "mint"),
        ("parsley", "basil and other soft herbs", "mint"),
        ("cilantro", "basil and other soft herbs", "mint"),
        ("rocket", "arugula", "lettuce"),
    ],
)
def test_everyday_names(written, name, borrowed):
    row = crop_row(written)
    assert row.name == name
    assert row.borrowed_from == borrowed


def test_garlic_has_its_own_values_and_says_whose_stages_it_takes():
    row = crop_row("garlic")
    assert row.borrowed_from == ""
    assert row.kc_mid == 1.0
    assert row.stages_borrowed_from == "onion dry"
    assert row.stages.crop == "onion dry"


def test_stage_choices_follow_a_shared_printed_row():
    regions = {(choice.crop, choice.plant_month) for choice in stage_choices("broccoli")}
    assert regions == {
        ("broccoli", "Sep"),
        ("crucifers", "Apr"),
        ("crucifers", "Feb"),
        ("crucifers", "Oct/Nov"),
    }


@pytest.mark.parametrize(
    ("written", "best"),
    [("tomatoe", "tomato"), ("zuchini", "zucchini"), ("letuce", "lettuce"), ("brocoli", "broccoli")],
)
def test_unknown_crop_names_the_nearest(written, best):
    with pytest.raises(UnknownNameError, match=best) as caught:
        crop_row(written)
    assert isinstance(caught.value, RillbookError)
    assert caught.value.name == written
    assert caught.value.nearest[0] == best
    assert len(caught.value.nearest) <= 3


@pytest.mark.parametrize("written", ["", "xyzzy", "!", "42"])
def test_even_nonsense_gets_a_suggestion(written):
    with pytest.raises(UnknownNameError) as caught:
        crop_row(written)
    assert caught.value.nearest


def test_nearest_crops_are_different_crops():
    names = nearest_crops("bean", n=5)
    assert len(names) == len({crop_row(name).name for name in names})


def test_soil_names_are_read_in_any_case():
    assert soil_row("Sandy-Loam") == soil_row("sandy loam")


@pytest.mark.parametrize("name", soil_names())
def test_soils_hold_more_when_full_than_when_dry(name):
    row = soil_row(name)
    assert 0 < row.wilting_point_low <= row.wilting_point <= row.wilting_point_high
    assert row.wilting_point < row.field_capacity
    assert row.field_capacity_low <= row.field_capacity <= row.field_capacity_high < 0.5
    assert 0 < row.rew_low_mm < row.rew_high_mm < row.tew_high_mm
    assert row.rew_low_mm < row.tew_low_mm < row.tew_high_mm


@pytest.mark.parametrize("written", ["sandy lome", "pine bark"])
def test_unknown_soil_names_the_nearest(written):
    with pytest.raises(UnknownNameError, match="soil") as caught:
        soil_row(written)
    assert set(caught.value.nearest) <= set(soil_names())
    assert caught.value.nearest
