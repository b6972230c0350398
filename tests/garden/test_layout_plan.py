"""The layout in the plan: held in canonical units, told back, or refused with every fault at once."""

from __future__ import annotations

import json
import re

import pytest

from scheduler.garden.describe import describe_plan
from scheduler.garden.layout_plan import BedMeasures, BedPlace, HeadPart, MainLine, Segment, Takeoff
from scheduler.garden.planfile import parse_plan
from tests.garden.test_schema import check
from tests.layout.plans import BED, BORE, FOOT, INCH, MAIN, garden_of, plan_with

HEAD = (
    '\n[[head]]\npart = "timer"\nloss = "3 psi"\nat_flow = "4 gal/min"\nheight = "-4 in"\n'
    '\n[[head]]\npart = "backflow preventer"\nkind = "vacuum breaker"\n'
    '\n[[head]]\npart = "filter"\nmesh = 150\n'
    '\n[[head]]\npart = "regulator"\nset_pressure = "25 psi"\nlowest_flow = "6 gal/h"\n'
    'highest_flow = "8 gal/min"\n'
    '\n[[head]]\npart = "other"\nname = "hose"\n'
)
SEGMENT = (
    '\n[[segment]]\nname = "along"\nfrom = "outlet 1"\nto = "corner"\nlength = "9 ft"\n'
    'inside_diameter = "0.60 in"\nfittings = {{ elbow = 2, coupling = 1 }}\nat = ["9 ft", "0 ft"]\n'
    '\n[[segment]]\nname = "up"\nfrom = "{start}"\nto = "tall bed"\nlength = "{length}"\n'
    'inside_diameter = "0.60 in"\nrise = "{rise}"\n'
)
PSI = 6.894757
GALLON = 3.785411784


def segments(start="corner", length="18 in", rise="12 in"):
    return SEGMENT.format(start=start, length=length, rise=rise)


def told(text):
    garden, faults = parse_plan(text, source="garden.toml")
    assert garden is None
    return faults


class TestHeld:
    def test_a_plan_that_says_nothing_has_no_layout(self, changed):
        garden = garden_of(changed())
        assert garden.layout is None
        assert garden.beds[0].place is None
        assert garden.beds[0].measures == BedMeasures(
            end_gap=pytest.approx(3 * INCH),
            length=pytest.approx(10 * FOOT),
            width=pytest.approx(4 * FOOT),
            runs=2,
        )

    def test_short_form(self):
        garden = garden_of(plan_with() + HEAD)
        layout = garden.layout
        assert layout.main_line == MainLine(
            (0.0, 0.0), ("tall bed",), pytest.approx(0.6 * INCH), "polyethylene", 0.0
        )
        assert layout.takeoff == Takeoff(0.0, pytest.approx(3 * FOOT))
        assert layout.segments == ()
        assert layout.head[0] == HeadPart(
            "timer",
            loss=pytest.approx(3 * PSI),
            at_flow=pytest.approx(240 * GALLON),
            height=pytest.approx(-4 * INCH),
        )
        assert [part.label for part in layout.head] == [
            *("timer", "backflow preventer (vacuum breaker)", "filter", "regulator", "hose"),
        ]
        assert layout.head_height == pytest.approx(-4 * INCH)
        assert garden.beds[0].place == BedPlace(
            (pytest.approx(3 * FOOT), pytest.approx(2 * FOOT)),
            0.0,
            pytest.approx(FOOT),
            "left",
            pytest.approx(0.6 * INCH),
        )
        assert garden.beds[0].drip.inside_diameter == pytest.approx(0.17 * INCH)

    def test_long_form(self):
        text = plan_with((MAIN, ""), ('rim_height = "12 in"\n', "")) + segments()
        layout = garden_of(text).layout
        assert layout.main_line is None
        assert layout.segments[0] == Segment(
            *("along", "outlet 1", "corner"),
            length=pytest.approx(9 * FOOT),
            inside_diameter=pytest.approx(0.6 * INCH),
            rise=0.0,
            fittings=(("elbow", 2), ("coupling", 1)),
            at=(pytest.approx(9 * FOOT), 0.0),
        )

    def test_every_default_is_told(self):
        main = '\n[main_line]\nstart = ["0 ft", "0 ft"]\ninside_diameter = "0.60 in"\n'
        garden = garden_of(plan_with(main=main, place='runs = 2\nposition = ["3 ft", "2 ft"]'))
        notes = [str(note) for note in garden.assumed]
        for words in (
            "head: no part is named",
            "main_line > order: ",
            "main_line > height: ",
            'bed "tall bed" > layout: its rim is taken to lie its soil depth, 35.6 cm (14.0 in), above',
            'bed "tall bed" > layout: its riser is taken to come up at the left',
            'bed "tall bed" > layout: riser and header are taken to have the bore of the main line, 15.2 mm',
            'bed "tall bed" > layout: its open hand valve',
            "takeoff > spare: 10 %",
            "takeoff > stake_spacing: ",
            "layout: water of 20.0 °C (68.0 °F)",
        ):
            assert any(note.startswith(words) for note in notes), words

    def test_inlet_is_the_side_nearest_to_the_tap(self):
        far = MAIN.replace('start = ["0 ft", "0 ft"]', 'start = ["40 ft", "0 ft"]')
        garden = garden_of(plan_with(('inlet = "left"\n', ""), main=far))
        assert garden.beds[0].place.inlet == "right"

    def test_told_back(self):
        text = plan_with(
            (BORE, BORE + 'passage = "0.7 mm"\nlowest_pressure = "10 psi"\nhighest_pressure = "50 psi"\n'),
            (
                'inlet = "left"',
                'inlet = "left"\nrotation = "-30 deg"\nvalve_loss = "1 psi"\nvalve_loss_at = "1 gal/min"',
            ),
        )
        lines = json.dumps(describe_plan(garden_of(text + HEAD + segments(rise="16 in"))), ensure_ascii=False)
        for words in (
            "4.3 mm (0.170 in)",
            "0.7 mm (0.028 in)",
            "330 degrees",
            "from and to",
            "mesh",
            "tall bed",
        ):
            assert words in lines

    def test_both_unit_systems_give_the_same(self):
        us = garden_of(plan_with() + HEAD)
        metric = plan_with()
        for old, new in (("in", INCH), ("ft", FOOT)):
            metric = re.sub(
                rf'"([\d.-]+) {old}"', lambda m, f=new: f'"{float(m[1]) * f * 100:.10f} cm"', metric
            )
        other = garden_of(metric + HEAD)
        assert other.beds[0].place.position == pytest.approx(us.beds[0].place.position)
        assert other.layout.main_line.inside_diameter == pytest.approx(us.layout.main_line.inside_diameter)

    @pytest.mark.parametrize("text", [plan_with() + HEAD, plan_with() + segments()])
    def test_schema_for_editors_knows_it(self, text):
        check(text)


LINE = 'at_pressure = "20 psi"'
STATIC = ('flow = "5 gal/min"', 'flow = "5 gal/min"\nstatic_pressure = "20 psi"')


def in_range(low, high, opening=""):
    lines = (
        f'{key} = "{value}"'
        for key, value in (
            ("lowest_pressure", low),
            ("highest_pressure", high),
            ("opening_pressure", opening),
        )
        if value
    )
    return LINE, "\n".join((LINE, *lines))


WRONG = [
    # (change, added, where, found, wanted)
    (('inside_diameter = "0.17 in"\n', ""), "", 'drip "line" > inside_diameter', "missing", "bore"),
    (('["3 ft", "2 ft"]', "[3, 2]"), "", "> position > entry 1", "no unit", "in"),
    (('order = ["tall bed"]', 'order = ["tal bed"]'), "", "main_line > order", "no bed", "tall bed"),
    (('order = ["tall bed"]', 'order = ["tal bed"]'), "", "main_line > order", "leaves out", "add it"),
    (('["tall bed"]', '["tall bed", "tall bed"]'), "", "main_line > order", "twice", "once"),
    (('position = ["3 ft", "2 ft"]\n', ""), "", '"tall bed" > position', "missing", "sketch"),
    (('inlet = "left"', 'inlet = "top"'), "", "> inlet", "along the runs", "left"),
    (('inlet = "left"', 'inlet = "north"'), "", "> inlet", "not known", "bottom left"),
    (('"12 in"\ninlet', '"12 in"\nrotation = 90\ninlet'), "", "> rotation", "not an angle", "90 deg"),
    (('inlet = "left"', 'inlet = "left"\nvalve_loss = "1 psi"'), "", "> valve_loss_at", "missing", "both"),
    (in_range("50 psi", "10 psi"), "", "> lowest_pressure", "not below", "exchanged"),
    (in_range("25 psi", "50 psi"), "", "> at_pressure", "outside", "range"),
    (in_range("10 psi", ""), "", "> highest_pressure", "missing", "two ends"),
    (in_range("10 psi", "50 psi", "12 psi"), "", "> opening_pressure", "above", "exchanged"),
    (STATIC, HEAD, "head 4 (regulator) > set_pressure", "above the pressure of the tap", "below"),
    (None, HEAD.replace('"8 gal/min"', '"4 gal/h"'), "> lowest_flow", "not below", "exchanged"),
    (None, HEAD.replace('set_pressure = "25 psi"\n', ""), "> set_pressure", "missing", "25 psi"),
    (None, HEAD.replace('kind = "vacuum breaker"\n', ""), "> kind", "missing", "vacuum breaker"),
    (None, HEAD.replace('"filter"', '"adapter"'), "> mesh", "no meaning", "filter"),
    (None, HEAD.replace("mesh = 150", 'mesh = 150\nopening = "0.1 mm"'), "head 3 (filter)", "both", "one"),
    (None, HEAD.replace('at_flow = "4 gal/min"\n', ""), "> at_flow", "missing beside loss", "both"),
    (None, HEAD.replace('name = "hose"\n', ""), "> name", "missing", "hose"),
    (None, HEAD.replace('"filter"\nmesh = 150', '"timer"'), "head 3 (timer)", "second timer", "keep one"),
    (None, segments(length="0 in"), "> length", "is zero", "above zero"),
    (None, segments(length="6 in"), "> rise", "more than its length", "exchanged"),
    (None, segments(start="other"), 'segment "up"', "no outlet feeds it", "loop needs a source"),
    (None, segments(start="outlet 7"), "> from", "no zone", "outlet 1"),
    (None, segments(start="tall bed"), "> to", "where it begins", "another point"),
    (None, segments() * 2, '"along" > name', "second segment", "own name"),
    (None, segments(rise="6 in"), '"tall bed" > rim_height', "segments to it rise", "agree"),
    (
        None,
        segments() + '[[segment]]\nname = "round"\nfrom = "corner"\nto = "outlet 1"\nlength = "9 ft"\n'
        'inside_diameter = "0.60 in"\n',
        *('"round" > to', "comes from", "exchange"),
    ),
    (
        None,
        segments()
        + '[[segment]]\nname = "back"\nfrom = "outlet 1"\nto = "corner"\nlength = "9 ft"\nrise = "1 ft"\n'
        'inside_diameter = "0.60 in"\n',
        *('"back" > rise', "differ by 30.5 cm (12.0 in) in height", "add up to nothing"),
    ),
    ((MAIN, '\n[main_line]\nstart = ["0 ft", "0 ft"]\n'), "", "main_line > inside_diameter", "missing", "in"),
    ((BED, '"circle"\ndiameter = "6 ft"'), "", "> runs", "no length", "rings"),
    ((f"{BED}\n", '"circle"\ndiameter = "3 ft"\n'), "", "> runs", "no length", "rings"),
]


@pytest.mark.parametrize(("change", "added", "where", "found", "wanted"), WRONG)
def test_wrong_layout_is_refused_in_its_place(change, added, where, found, wanted):
    faults = told(plan_with(*([change] if change else [])) + added)
    right = [fault for fault in faults if fault.where.endswith(where)]
    assert right, [str(fault) for fault in faults]
    assert any(found in fault.found and wanted in fault.wanted for fault in right), [str(f) for f in right]


LINES_TOO_LONG = [
    ('"circle"\ndiameter = "3 ft"', 'rings = ["4 ft"]', "rings > ring 1", "does not fit"),
    (
        '"rounded ends"\nlength = "9 ft"\nwidth = "4 ft"',
        'runs = 3\nend_gap = "0 in"',
        "runs",
        "longer than the bed",
    ),
    (BED, 'line_length = "800 ft"\nemitter_spacing = "5 ft"', "line_length", "longer than the bed has room"),
]


@pytest.mark.parametrize(("shape", "line", "where", "found"), LINES_TOO_LONG)
def test_line_that_the_bed_cannot_hold(shape, line, where, found):
    (fault,) = told(plan_with((BED, shape), ("runs = 2", line)))
    assert fault.where == f'bed "tall bed" > {where}'
    assert found in fault.found


def test_all_faults_come_at_once():
    text = plan_with(('order = ["tall bed"]', 'order = ["low bed"]'), ('inlet = "left"', 'inlet = "top"'))
    text += HEAD.replace('kind = "vacuum breaker"\n', "")
    assert len(told(text)) >= 4


SECOND = (
    '[[bed]]\nname = "low bed"\nzone = "north"\nsoil = "mix"\nshape = "rectangle"\nlength = "6 ft"\n'
    'width = "4 ft"\nsoil_depth = "10 in"\ndrip = "line"\nruns = 2\nposition = {}\nrim_height = "12 in"\n'
    'inlet = "left"\n\n[[soil_state]]'
)


@pytest.mark.parametrize(("position", "overlap"), [('["12 ft", "2 ft"]', True), ('["13 ft", "2 ft"]', False)])
def test_beds_that_overlap_are_told(position, overlap):
    both = ('order = ["tall bed"]', 'order = ["tall bed", "low bed"]')
    garden = garden_of(plan_with(("[[soil_state]]", SECOND.format(position)), both))
    notes = [str(note) for note in garden.assumed if "overlaps" in note.text]
    assert notes == (
        ['bed "low bed" > position: on the sketch it overlaps bed "tall bed"'] if overlap else []
    )


def test_two_risers_in_one_place():
    both = ('order = ["tall bed"]', 'order = ["tall bed", "low bed"]')
    (fault,) = told(plan_with(("[[soil_state]]", SECOND.format('["3 ft", "2 ft"]')), both))
    assert (fault.where, "without length" in fault.found) == ('bed "low bed" > inlet', True)
