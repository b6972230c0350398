"""Soil, layers, mulch, place, soil below the roots and uncertainty: held, told back, or refused."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.garden.describe import describe_plan
from scheduler.garden.plan import Mulch, Settled, SoilState, Uncertainty
from scheduler.garden.planfile import parse_plan

from .conftest import PLAN
from .test_planfile import ODD_VALUES
from .test_schema import check

FOOT = 0.3048
INCH = FOOT / 12
FIGURES = 'field_capacity = "32 %"\nwilting_point = "13 %"'
OWN_MIX = ("[soil.mix]", '[soil.loam]\ntexture = "loam"\n\n[soil.mix]')
PLANTING = '[[bed.planting]]\ncrop = "tomato"'
STATE = 'on = 2026-04-01\ndepletion = "full"'


def layer(what, depth, *lines):
    return "\n".join(["[[bed.layer]]", what, f'depth = "{depth}"', *lines, ""])


LAYERS = (
    layer('soil = "mix"', "8 in") + layer('soil = "loam"', "6 in") + layer('fill = "wood"', "10 in") + "\n"
)
MULCH = '[bed.mulch]\nkind = "plastic"\ncover = "80 %"\nfrom = 2026-05-20\nto = 2026-09-30\nholes = "5 %"\n\n'
PLACE = (
    'settled = [{ on = 2027-04-01, soil_depth = "12 in" }, { on = 2028-04-01, soil_depth = "13 in" }]\n'
    'wetted_width = "10 in"\ndirect_sun_lost = "3 h"\nsun_lost_when = "morning"\nwall_heat = "15 %"\n'
    'rain_reaching = "60 %"\nisolated_stand_width = "4 ft"\nmixing = "height"\nseedbed_water = "whole bed"\n'
    'runs_through_after = "12 min"\n'
)
UNCERTAINTY = (
    '\n[uncertainty]\nreference_et = "4 %"\ncrop_coefficient = "8 %"\navailable_water = "12 %"\n'
    'efficiency = "3 %"\nflow = "2 %"\nrain = "9 %"\n'
)
EVAPORABLE = f'{FIGURES}\nreadily_evaporable_water = "0.3 in"\ntotal_evaporable_water = "20 mm"'
BELOW = f'{STATE}\nbelow_roots = "30 %"'
EVERY_KEY = (
    PLAN.replace(*OWN_MIX)
    .replace(FIGURES, EVAPORABLE)
    .replace(PLANTING, f"{PLACE}{LAYERS}{MULCH}{PLANTING}", 1)
    .replace(STATE, BELOW)
    + '\n[planning]\ncrop_coefficient = "single"\n'
    + UNCERTAINTY
)


def in_bed(changed, *texts):
    return changed(OWN_MIX, (PLANTING, "".join(texts) + PLANTING))


class TestRight:
    def test_a_plan_that_says_nothing_has_nothing(self, garden_of, changed):
        garden = garden_of(changed())
        bed = garden.beds[0]
        assert (bed.layers, bed.settled, bed.mulch, bed.wetted_share, bed.wetted_width) == (
            *((), (), None),
            *(None, None),
        )
        assert bed.runs_through_after is None
        assert (bed.sun_lost, bed.sun_lost_when, bed.wall_heat, bed.rain_share) == (0.0, "evening", 0.0, 1.0)
        assert (bed.isolated_width, bed.mixing, bed.seedbed) == (None, "area", "by hand")
        assert (bed.soil.readily_evaporable, bed.soil.total_evaporable) == (None, None)
        assert garden.planning.coefficient == "dual"
        assert garden.uncertainty == Uncertainty(0.07, 0.10, 0.20, 0.05, 0.07, 0.15)

    def test_evaporable_water_of_a_texture_is_the_middle_of_the_table(self, garden_of, changed):
        garden = garden_of(changed((FIGURES, 'texture = "sandy loam"')))
        # FAO-56 Table 19, sandy loam: REW 6-10 mm, TEW 15-20 mm.
        soil = garden.beds[0].soil
        assert (soil.readily_evaporable, soil.total_evaporable) == (8.0, 17.5)
        (note,) = [note.text for note in garden.assumed if note.where == 'soil "mix"']
        assert (
            "so are readily evaporable water of 8.0 mm (0.31 in) and total evaporable water of 17.5 mm"
            in note
        )

    def test_own_evaporable_water_stands_before_the_table(self, garden_of, changed):
        own = 'texture = "sandy loam"\nreadily_evaporable_water = "9 mm"'
        garden = garden_of(changed((FIGURES, own)))
        soil = garden.beds[0].soil
        assert (soil.readily_evaporable, soil.total_evaporable) == (9.0, 17.5)
        (note,) = [note.text for note in garden.assumed if note.where == 'soil "mix"']
        assert "readily" not in note
        assert note.endswith("; so is total evaporable water of 17.5 mm (0.69 in)")

    def test_own_mix_may_give_either(self, garden_of, changed):
        garden = garden_of(changed((FIGURES, EVAPORABLE)))
        soil = garden.beds[0].soil
        assert soil.readily_evaporable == pytest.approx(7.62)
        assert soil.total_evaporable == 20.0

    def test_layers(self, garden_of, changed):
        garden = garden_of(in_bed(changed, LAYERS))
        bed = garden.beds[0]
        assert [one.name for one in bed.layers] == ["mix", "loam", "wood"]
        assert [one.depth for one in bed.layers] == [pytest.approx(n * INCH) for n in (8, 6, 10)]
        # 32 less 13 %; loam of FAO-56 Table 19: 0.20-0.30 and 0.07-0.17.
        assert [one.available_water for one in bed.layers] == [
            *(pytest.approx(0.19), pytest.approx(0.13)),
            0.0,
        ]
        assert bed.layers[0].soil == bed.soil
        assert bed.layers[1].soil.name == "loam"
        assert bed.layers[2].soil is None
        notes = [str(note) for note in garden.assumed]
        assert (
            'bed "tall bed": its 25.4 cm (10.0 in) of wood below the soil count as holding no water for '
            in ("".join(notes))
        )

    def test_wood_may_hold_water(self, garden_of, changed):
        wet = LAYERS.replace('depth = "10 in"', 'depth = "10 in"\navailable_water = "5 %"')
        garden = garden_of(in_bed(changed, wet))
        assert garden.beds[0].layers[2].available_water == 0.05
        assert not any("holding no water" in note.text for note in garden.assumed)

    def test_layers_in_two_unit_systems_may_differ_by_a_hair(self, garden_of, changed):
        mixed = layer('soil = "mix"', "20.3 cm") + layer('soil = "loam"', "6 in")
        assert len(garden_of(in_bed(changed, mixed)).beds[0].layers) == 2

    def test_settled_mulch_and_place(self, garden_of, changed):
        bed = garden_of(in_bed(changed, PLACE, MULCH)).beds[0]
        assert bed.settled == (
            Settled(date(2027, 4, 1), pytest.approx(FOOT)),
            Settled(date(2028, 4, 1), pytest.approx(13 * INCH)),
        )
        assert bed.mulch == Mulch("plastic", 0.8, date(2026, 5, 20), date(2026, 9, 30), 0.05)
        assert bed.wetted_width == pytest.approx(10 * INCH)
        assert (bed.sun_lost, bed.sun_lost_when, bed.wall_heat, bed.rain_share) == (3.0, "morning", 0.15, 0.6)
        assert bed.isolated_width == pytest.approx(4 * FOOT)
        assert (bed.mixing, bed.seedbed) == ("height", "whole bed")
        assert bed.runs_through_after == 12.0

    def test_organic_mulch_without_dates_and_a_wetted_share(self, garden_of, changed):
        text = in_bed(
            changed, 'wetted_share = 0.4\nrain_reaching = "0 %"\n[bed.mulch]\nkind = "organic"\ncover = 1\n\n'
        )
        bed = garden_of(text).beds[0]
        assert bed.mulch == Mulch("organic", 1.0, None, None, 0.0)
        assert (bed.wetted_share, bed.rain_share) == (0.4, 0.0)

    def test_defaults_and_judgements_are_told(self, garden_of, changed):
        text = in_bed(
            changed,
            'direct_sun_lost = "2 h"\nwall_heat = "10 %"\n',
            MULCH.replace('holes = "5 %"\n', ""),
        )
        notes = "\n".join(map(str, garden_of(text).assumed))
        for told in (
            'bed "tall bed": its 2.0 h of sun are lost in the evening',
            'bed "tall bed": no holes are counted in its film',
            "10 % more use beside a warm wall is the plan's own judgement",
            "soil_state: the soil below the roots is taken as full",
            "uncertainty: standard uncertainties are taken, judgements without a source: reference ET 7 %, "
            "crop coefficient 10 %, available water 20 %, efficiency 5 %, flow (ISO 9261, from memory) 7 %, "
            "rain 15 %",
        ):
            assert told in notes

    def test_what_is_given_is_not_told_as_assumed(self):
        garden, faults = parse_plan(EVERY_KEY, source="garden.toml")
        assert faults == []
        places = {note.where for note in garden.assumed}
        assert not {"uncertainty", "soil_state"} & places
        told = "\n".join(note.text for note in garden.assumed)
        for word in ("evening", "film", "holes"):
            assert word not in told

    def test_uncertainty_and_planning(self):
        garden, _ = parse_plan(EVERY_KEY, source="garden.toml")
        assert garden.uncertainty == Uncertainty(0.04, 0.08, 0.12, 0.03, 0.02, 0.09)
        assert garden.planning.coefficient == "single"
        assert garden.soil_states == (SoilState(date(2026, 4, 1), "full", None, 0.3),)

    def test_one_uncertainty_leaves_the_others(self, garden_of, changed):
        garden = garden_of(changed() + '\n[uncertainty]\nflow = "0 %"\n')
        assert garden.uncertainty == Uncertainty(flow=0.0)
        (note,) = [note.text for note in garden.assumed if note.where == "uncertainty"]
        assert "flow" not in note

    def test_topped_up_soil_holds_deeper_roots_and_more_water(self, garden_of, faults_of, changed):
        deep = 'root_depth = "18 in"\ncrop = "tomato"'
        more = 'settled = [{ on = 2026-04-01, soil_depth = "20 in" }]\n'
        assert garden_of(changed((PLANTING, more + PLANTING), ('crop = "tomato"', deep)))
        # 19 % of 14 in is 67.6 mm, of 20 in 96.5 mm.
        dry = ('depletion = "full"', 'depletion = "80 mm"')
        assert faults_of(changed(dry))
        assert garden_of(changed(dry, (PLANTING, more + PLANTING)))

    def test_layers_hold_what_a_state_may_lack(self, garden_of, faults_of, changed):
        # 19 % of 8 in and 13 % of 6 in are 58.4 mm; 10 in of wood with 5 % hold 12.7 mm more.
        dry = ('depletion = "full"', 'depletion = "65 mm"')
        assert garden_of(changed(dry))
        bed = (PLANTING, LAYERS + PLANTING)
        (fault,) = faults_of(changed(OWN_MIX, bed, dry))
        assert "58.4 mm" in fault.found
        wet = LAYERS.replace('depth = "10 in"', 'depth = "10 in"\navailable_water = "5 %"')
        assert garden_of(changed(OWN_MIX, (PLANTING, wet + PLANTING), dry))


def test_everything_is_told_back_in_both_systems():
    garden, faults = parse_plan(EVERY_KEY, source="garden.toml")
    assert faults == []
    told = {(place, what): value for place, what, value in describe_plan(garden)}
    bed = 'bed "tall bed"'
    for (place, what), value in {
        ('soil "mix"', "readily evaporable water"): "7.6 mm (0.30 in)",
        ('soil "mix"', "total evaporable water"): "20.0 mm (0.79 in)",
        ('soil "loam"', "total evaporable water"): "19.0 mm (0.75 in)",
        (bed, "layer 1, mix"): "20.3 cm (8.0 in), 19.0 % available water",
        (bed, "layer 3, wood"): "25.4 cm (10.0 in), 0.0 % available water",
        (bed, "soil depth from 2027-04-01"): "30.5 cm (12.0 in)",
        (bed, "mulch, plastic"): "from 2026-05-20 to 2026-09-30",
        (bed, "part that the mulch covers"): "80 %",
        (bed, "holes in the film"): "5.0 %",
        (bed, "wetted width of a line"): "25.4 cm (10.0 in)",
        (bed, "water runs through after"): "12 min",
        (bed, "direct sun lost, morning"): "3.0 h",
        (bed, "use added by a warm wall"): "15 %",
        (bed, "rain that reaches it"): "60 %",
        (bed, "width of its isolated stand"): "1.22 m (4.0 ft)",
        (bed, "crops share the sun by"): "height",
        (bed, "a sown surface is kept wet"): "by its runs",
        ("soil_state 2026-04-01", "missing below the roots of all beds"): "30 %",
        ("planning", "crop coefficient"): "single",
        ("uncertainty", "available water"): "12 %",
        ("uncertainty", "rain"): "9 %",
    }.items():
        assert told[place, what] == value


def test_schema_for_editors_accepts_every_key():
    check(EVERY_KEY)


# Text put into the bed, place below the bed, part of what was found, part of what is wanted.
WRONG_IN_BED = [
    (LAYERS.replace("8 in", "9 in"), "layer", "38.1 cm (15.0 in), soil_depth is 35.6 cm (14.0 in)", "agree"),
    (layer('fill = "wood"', "14 in"), "layer", "add up to 0.0 cm", "agree"),
    (
        layer('soil = "mix"', "8 in") + layer('fill = "wood"', "3 in") + layer('soil = "loam"', "6 in"),
        "layer 3",
        'soil "loam" below a fill',
        "top to bottom",
    ),
    (LAYERS.replace('"loam"', '"lome"'), "layer 2 > soil", 'no soil mix "lome"', 'did you mean "loam"?'),
    (
        layer('soil = "loam"', "6 in") + layer('soil = "mix"', "8 in"),
        "layer 1 > soil",
        '"loam" lies on top, the bed says soil = "mix"',
        "topmost",
    ),
    (layer('soil = "mix"\nfill = "wood"', "14 in"), "layer 1", "both soil and fill", "one of them"),
    ('[[bed.layer]]\ndepth = "14 in"\n', "layer 1", "neither soil nor fill", 'fill = "wood"'),
    (layer('soil = "mix"', "0 in"), "layer 1 > depth", "zero", "above zero"),
    (layer('soil = "mix"', "14"), "layer 1 > depth", "no unit", '"10 in"'),
    (layer('soil = "mix"', "14 ft"), "layer 1 > depth", "4.27 m", "1 in to 6 ft"),
    ('[[bed.layer]]\nsoil = "mix"\n', "layer 1 > depth", "missing", '"8 in"'),
    (LAYERS.replace('"wood"', '"woood"'), "layer 3 > fill", '"woood"', '"wood"'),
    (
        layer('soil = "mix"', "14 in", 'available_water = "9 %"'),
        "layer 1 > available_water",
        "beside a soil mix",
        "leave it out",
    ),
    (
        layer('soil = "mix"', "14 in") + layer('fill = "wood"', "9 in", 'available_water = "60 %"'),
        "layer 2 > available_water",
        "60 %",
        "40 %",
    ),
    ('[bed.layer]\nsoil = "mix"\ndepth = "14 in"\n', "layer", "written as [bed.layer]", "[[bed.layer]]"),
    (layer('mix = "mix"', "14 in"), "layer 1 > mix", "unknown", "keys: soil, fill"),
    (
        'settled = [{ on = 2027-04-01, soil_depth = "12 in" }, { on = 2027-04-01, soil_depth = "11 in" }]\n',
        "settled > entry 2 > on",
        "2027-04-01 stands twice",
        "in order",
    ),
    (
        'settled = [{ on = 2028-04-01, soil_depth = "12 in" }, { on = 2027-04-01, soil_depth = "11 in" }]\n',
        "settled > entry 2 > on",
        "2027-04-01 stands after 2028-04-01",
        "in order",
    ),
    (
        'settled = [{ on = 2027-04-01, soil_depth = "12 ft" }]\n',
        "settled > entry 1 > soil_depth",
        "3.66 m (12.0 ft)",
        "2 in to 4 ft",
    ),
    (
        "settled = [{ on = 2027-04-01, soil_depth = 12 }]\n",
        "settled > entry 1 > soil_depth",
        "12 has no unit",
        '"10 in"',
    ),
    ("settled = [{ on = 2027-04-01 }]\n", "settled > entry 1 > soil_depth", "missing", '"12 in"'),
    (
        'settled = [{ on = 2027-04-01, depth = "12 in" }]\n',
        "settled > entry 1 > depth",
        "unknown",
        '"soil_depth"',
    ),
    ('settled = "12 in"\n', "settled", "not a list", "{ on = 2027-04-01"),
    ('[bed.mulch]\nkind = "organic"\ncover = "120 %"\n', "mulch > cover", "120 %", "85 %"),
    ('[bed.mulch]\nkind = "organic"\ncover = "0 %"\n', "mulch > cover", "zero", "80 %"),
    ('[bed.mulch]\nkind = "organic"\n', "mulch > cover", "missing", '"80 %"'),
    ('[bed.mulch]\ncover = "80 %"\n', "mulch > kind", "missing", '"organic"'),
    ('[bed.mulch]\nkind = "film"\ncover = "80 %"\n', "mulch > kind", '"film"', '"plastic"'),
    (
        '[bed.mulch]\nkind = "organic"\ncover = "80 %"\nholes = "5 %"\n',
        "mulch > holes",
        "no meaning",
        "leave it out",
    ),
    (MULCH.replace('"5 %"', '"80 %"'), "mulch > holes", "80 %", "0 % to 50 %"),
    (MULCH.replace("2026-09-30", "2026-04-30"), "mulch > to", "before it begins, 2026-05-20", "exchanged"),
    (MULCH.replace("from = 2026-05-20", 'from = "May"'), "mulch > from", "reads one way only", "2026-06-01"),
    ("mulch = 3\n", "mulch", "not a table", "key = value"),
    (
        'wetted_share = "40 %"\nwetted_width = "10 in"\n',
        "",
        "both wetted_share and wetted_width",
        "keep one",
    ),
    ('runs_through_after = "5 h"\n', "runs_through_after", "300 min", "1 min to 4 h"),
    ('runs_through_after = "20 s"\n', "runs_through_after", "20 s", "1 min to 4 h"),
    ("runs_through_after = 12\n", "runs_through_after", "12 has no unit", '"30 min"'),
    ('wetted_share = "1 %"\n', "wetted_share", "1 %", "2 % to 100 %"),
    ("wetted_share = 40\n", "wetted_share", "40 is not a share", '"40 %"'),
    ('wetted_width = "10 ft"\n', "wetted_width", "3.05 m", "1 in to 6 ft"),
    # 24 / pi arccos(-tan 44.6 tan 0.409), FAO-56 eq. 25 and 34, is 15.37 h.
    (
        'direct_sun_lost = "16 h"\n',
        "direct_sun_lost",
        "15.4 h of daylight at 44.60° N",
        "walls and trees",
    ),
    ('direct_sun_lost = "3"\n', "direct_sun_lost", "no unit", '"9.5 h"'),
    ('sun_lost_when = "morning"\n', "sun_lost_when", "no effect", 'direct_sun_lost = "3 h"'),
    (
        'direct_sun_lost = "3 h"\nsun_lost_when = "noon"\n',
        "sun_lost_when",
        '"noon"',
        '"morning", "midday", "evening"',
    ),
    ('wall_heat = "30 %"\n', "wall_heat", "30 %", "0 % to 25 %"),
    ('rain_reaching = "160 %"\n', "rain_reaching", "160 %", "85 %"),
    ('isolated_stand_width = "4 in"\n', "isolated_stand_width", "10.2 cm", "6 in to 100 ft"),
    ('mixing = "size"\n', "mixing", '"size"', '"area", "height"'),
    ('seedbed_water = "hand"\n', "seedbed_water", '"hand"', '"by hand"'),
]


@pytest.mark.parametrize(("text", "below", "found", "wanted"), WRONG_IN_BED)
def test_wrong_ground_is_refused_in_its_place(changed, faults_of, text, below, found, wanted):
    faults = faults_of(in_bed(changed, text))
    where = 'bed "tall bed"' + (f" > {below}" if below else "")
    there = [fault for fault in faults if fault.where == where and found in fault.found]
    assert there, [str(fault) for fault in faults]
    assert any(wanted in fault.wanted for fault in there), [str(fault) for fault in there]


def test_a_wetted_width_needs_a_line(changed, faults_of):
    text = changed(("runs = 2", 'emitters = 38\nwetted_width = "10 in"'))
    (fault,) = faults_of(text)
    assert fault.where == 'bed "tall bed" > wetted_width'
    assert 'wetted_share = "40 %"' in fault.wanted


@pytest.mark.parametrize("latitude", ["80 N", "80 S"])
def test_the_midnight_sun_can_be_lost_all_day(changed, garden_of, latitude):
    text = changed(('"44.6 N"', f'"{latitude}"'), (PLANTING, f'direct_sun_lost = "24 h"\n{PLANTING}'))
    assert garden_of(text).beds[0].sun_lost == 24.0


# Old text, new text, place, part of what was found, part of what is wanted.
WRONG_ELSEWHERE = [
    (
        FIGURES,
        f'{FIGURES}\nreadily_evaporable_water = "20 mm"\ntotal_evaporable_water = "9 mm"',
        'soil "mix" > readily_evaporable_water',
        "20.0 mm (0.79 in) are lost at full speed, of 9.0 mm (0.35 in) in all",
        "exchanged",
    ),
    # FAO-56 eq. 73: 1000 (0.32 - 0.5 x 0.13) 0.10 = 25.5 mm.
    (
        FIGURES,
        f'{FIGURES}\nreadily_evaporable_water = "26 mm"',
        'soil "mix" > readily_evaporable_water',
        "of 25.5 mm",
        "part of the second",
    ),
    (
        FIGURES,
        'texture = "sandy loam"\nreadily_evaporable_water = "18 mm"',
        'soil "mix" > readily_evaporable_water',
        "of 17.5 mm",
        "part of the second",
    ),
    (
        FIGURES,
        'texture = "sandy loam"\ntotal_evaporable_water = "7 mm"',
        'soil "mix" > total_evaporable_water',
        "8.0 mm (0.31 in) are lost at full speed, of 7.0 mm",
        "part of the second",
    ),
    (
        FIGURES,
        f'{FIGURES}\ntotal_evaporable_water = "18 cm"',
        'soil "mix" > total_evaporable_water',
        "180.0 mm",
        "unit right",
    ),
    (STATE, f'{STATE}\nbelow_roots = "130 %"', "soil_state 1 > below_roots", "130 %", "85 %"),
    (STATE, f"{STATE}\nbelow_roots = 30", "soil_state 1 > below_roots", "30 is not a share", '"30 %"'),
    (
        STATE,
        f'{STATE}\n[planning]\ncrop_coefficient = "duel"',
        "planning > crop_coefficient",
        '"duel"',
        'did you mean "dual"?',
    ),
    (
        STATE,
        f'{STATE}\n[uncertainty]\nflow = "120 %"\nrain = 15',
        "uncertainty > flow",
        "120 %",
        "85 %",
    ),
    (
        STATE,
        f'{STATE}\n[uncertainty]\nflow = "120 %"\nrain = 15',
        "uncertainty > rain",
        "15 is not a share",
        '"15 %"',
    ),
    (STATE, f'{STATE}\n[uncertainty]\nflw = "5 %"', "uncertainty > flw", "unknown", '"flow"'),
    (
        'flow = "5 gal/min"',
        'flow = "5 gal/min"\nsalinity = 0.5',
        "water_source > salinity",
        "0.5 has no unit",
        "dS/m",
    ),
    (
        'flow = "5 gal/min"',
        'flow = "5 gal/min"\nsalinity = "0.5"',
        "water_source > salinity",
        '"0.5" has no unit',
        "dS/m",
    ),
    (
        'crop = "tomato"',
        'crop = "tomato"\nroot_depth = "24 in"',
        'bed "tall bed" > planting 1 (tomato) > root_depth',
        '"24 in" is below the bed\'s soil of "14 in"',
        "depth of the soil at most",
    ),
]


@pytest.mark.parametrize(("old", "new", "where", "found", "wanted"), WRONG_ELSEWHERE)
def test_wrong_figure_is_refused_in_its_place(changed, faults_of, old, new, where, found, wanted):
    faults = faults_of(changed((old, new)))
    there = [fault for fault in faults if fault.where == where and found in fault.found]
    assert there, [str(fault) for fault in faults]
    assert any(wanted in fault.wanted for fault in there), [str(fault) for fault in there]


def test_all_faults_of_the_ground_are_told_at_once(changed, faults_of):
    text = in_bed(
        changed,
        'wall_heat = "90 %"\nsun_lost_when = "morning"\nmixing = "size"\n',
        LAYERS.replace("8 in", "9 in").replace('"loam"', '"lome"'),
        MULCH.replace('"80 %"', '"180 %"').replace("2026-09-30", "2026-04-30"),
    )
    assert sorted(fault.where.removeprefix('bed "tall bed" > ') for fault in faults_of(text)) == sorted(
        ["wall_heat", "sun_lost_when", "mixing", "layer", "layer 2 > soil", "mulch > cover", "mulch > to"]
    )


KEYS = [line for line in EVERY_KEY.splitlines() if " = " in line]
NEW_KEYS = [line for line in KEYS if line not in PLAN.splitlines()]


@settings(deadline=None)
@given(
    changes=st.dictionaries(st.sampled_from(NEW_KEYS), st.sampled_from(ODD_VALUES), min_size=1, max_size=4)
)
def test_odd_values_give_faults_or_a_garden_and_never_a_crash(changes):
    text = EVERY_KEY
    for line, value in changes.items():
        text = text.replace(line, f"{line.split(' = ')[0]} = {value}")
    garden, faults = parse_plan(text, source="garden.toml")
    assert (garden is None) == bool(faults)
    if garden is not None:
        assert all(value for _, _, value in describe_plan(garden))
