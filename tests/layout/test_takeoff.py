"""The parts list of three layouts counted by hand, and that no part is lost or counted twice."""

from __future__ import annotations

import math

import pytest

from scheduler.layout.segments import layout_of
from scheduler.layout.takeoff import takeoff_of
from tests.layout.plans import BED, FOOT, MAIN, garden_of, plan_with
from tests.layout.test_places import BEDS

WIDE, THIN = 0.60, 0.17


def listed(text):
    """Return (part, bores in inches) -> what is laid: a count, or feet of tube."""
    garden = garden_of(text)
    rows = takeoff_of(layout_of(garden), garden)
    return {
        (row.part, tuple(round(bore / FOOT * 12, 3) for bore in row.bores)): row.count
        if row.length is None
        else pytest.approx(row.length / FOOT)
        for row in rows
    }


def test_one_bed_with_two_runs():
    """A bed of 10 by 4 ft at (3, 2) with its riser in the middle of the left side.

    Main: 3 ft right and 4 ft up, one elbow on the way and one at the riser's foot. Riser: 1 ft, a
    valve, an elbow over the rim. Header: 3 in to the tee between the runs, from there 1 ft to either
    run: 2.25 ft, a tee, and at each end a barb and an end cap. Runs: two of 9.5 ft, each with an end
    plug.
    Stakes no more than 3 ft apart: main 1 + 2, header 1; each run 4 stretches and so 5.
    """
    assert listed(plan_with()) == {
        ("main line tube", (WIDE,)): 7.0,
        ("riser tube", (WIDE,)): 1.0,
        ("header tube", (WIDE,)): 2.25,
        ('drip line "line"', (THIN,)): 19.0,
        ("hand valve", (WIDE,)): 1,
        ("elbow", (WIDE, WIDE)): 3,
        ("tee", (WIDE, WIDE, WIDE)): 1,
        ("barb", (WIDE, THIN)): 2,
        ("end cap", (WIDE,)): 2,
        ("end plug", (THIN,)): 2,
        ("stake", (WIDE,)): 4,
        ("stake", (THIN,)): 10,
    }


TWO_ZONES = (
    ("[[bed]]", '[[zone]]\nname = "south"\noutlet = 2\nrule = "driest bed"\n\n[[bed]]'),
    (
        "[[soil_state]]",
        '[[bed]]\nname = "ring"\nzone = "south"\nsoil = "mix"\nshape = "circle"\ndiameter = "6 ft"\n'
        'soil_depth = "12 in"\ndrip = "line"\nrings = ["54 in", "26 in"]\nposition = ["20 ft", "8 ft"]\n'
        'rim_height = "12 in"\ninlet = "bottom"\n\n'
        '[[bed]]\nname = "low"\nzone = "north"\nsoil = "mix"\nshape = "rectangle"\nlength = "4 ft"\n'
        'width = "2 ft"\nsoil_depth = "12 in"\ndrip = "line"\nruns = 1\nposition = ["3 ft", "10 ft"]\n'
        'rim_height = "6 in"\ninlet = "left"\n\n[[soil_state]]',
    ),
    ('order = ["tall bed"]', 'order = ["low", "ring", "tall bed"]'),
    ('spare = "0 %"', 'spare = "10 %"'),
)
HEAD = (
    '\n[[head]]\npart = "backflow preventer"\nkind = "other"\n\n[[head]]\npart = "timer"\n'
    '\n[[head]]\npart = "filter"\n\n[[head]]\npart = "regulator"\nset_pressure = "20 psi"\n'
)


def test_two_outlets_with_runs_and_rings():
    """North: low bed (foot at 3, 11), then tall bed (3, 4). South: round bed (foot at 20, 5).

    Head: one preventer and one timer before the outlets, a filter and a regulator on both.
    Main, north: 3 right, 11 up to the low bed, and 7 back down to the tall one. South: 20 right, 5 up.
    In all 46 ft. Elbows: one corner each (2), a foot at the end of each branch (2), three rims: 7. The
    low bed's foot is passed by the main: a tee.
    Risers 0.5 + 1 + 1 ft, three valves. Headers: low 3 in; tall 2.25 ft as before; ring 9 in to the
    outer ring and 14 in to the inner: 23/12 ft.
    Low: the header goes straight on as its one run, by a reducer. Tall: tee, 2 barbs, 2 end caps. Ring:
    2 barbs with a small tee each, one end cap where the header ends.
    Line: low 3.5, tall 19, rings pi x 80/12 ft. End plugs: low 1, tall 2.
    Stakes (3 ft): mains 1 + 4 + 3 + 7 + 2 = 17, headers 1 each: 20. Low run 2 + 1, tall 5 + 5, rings:
    14.137 ft ask for 5, 6.807 ft for 3: 21.
    """
    assert listed(plan_with(*TWO_ZONES) + HEAD) == {
        ("backflow preventer (other)", ()): 1,
        ("timer", ()): 1,
        ("filter", ()): 2,
        ("regulator", ()): 2,
        ("main line tube", (WIDE,)): 46.0,
        ("riser tube", (WIDE,)): 2.5,
        ("header tube", (WIDE,)): 0.25 + 2.25 + 23 / 12,
        ('drip line "line"', (THIN,)): 3.5 + 19.0 + math.pi * 80 / 12,
        ("hand valve", (WIDE,)): 3,
        ("elbow", (WIDE, WIDE)): 7,
        ("tee", (WIDE, WIDE, WIDE)): 2,
        ("tee", (THIN, THIN, THIN)): 2,
        ("reducer", (WIDE, THIN)): 1,
        ("barb", (WIDE, THIN)): 4,
        ("end cap", (WIDE,)): 3,
        ("end plug", (THIN,)): 3,
        ("stake", (WIDE,)): 20,
        ("stake", (THIN,)): 21,
    }


RING_MAIN = "".join(
    f'\n[[segment]]\nname = "{name}"\nfrom = "{start}"\nto = "{end}"\nlength = "{length}"\n'
    f'inside_diameter = "0.60 in"\nrise = "{rise}"\n{more}'
    for name, start, end, length, rise, more in (
        ("out", "outlet 1", "fork", "10 ft", "-1 ft", "fittings = { elbow = 2, coupling = 1 }\n"),
        ("short way", "fork", "far", "8 ft", "0 ft", ""),
        ("long way", "fork", "bend", "12 ft", "0 ft", "fittings = { elbow = 1 }\n"),
        ("back", "bend", "far", "9 ft", "0 ft", ""),
        ("up", "far", "tall bed", "3 ft", "2 ft", ""),
    )
)


def test_named_segments_in_a_ring_with_line_as_wide_as_the_header():
    """All tubes are 0.60 in wide, the drip line too; the bed is not on the sketch.

    Main: 10 + 8 + 12 + 9 = 39 ft, with 3 elbows and a coupling as stated, a tee at the fork and one at
    the far end of the ring, a coupling at the bend where two segments meet. Riser 3 ft: a valve, an
    elbow at the rim.
    Header: 2.25 ft with a tee between the runs; at both its ends it turns into a run: 2 elbows. The
    runs are 9.5 ft each and wide, so they end in caps. Stakes (3 ft): mains 4 + 3 + 4 + 3, header 1,
    runs 5 + 5.
    """
    text = plan_with(
        (MAIN, '\n[takeoff]\nspare = "0 %"\nstake_spacing = "3 ft"\n'),
        ('position = ["3 ft", "2 ft"]\nrim_height = "12 in"\n', ""),
        ('inside_diameter = "0.17 in"', 'inside_diameter = "0.60 in"'),
    )
    assert listed(text + RING_MAIN) == {
        ("main line tube", (WIDE,)): 39.0,
        ("riser tube", (WIDE,)): 3.0,
        ("header tube", (WIDE,)): 2.25,
        ('drip line "line"', (WIDE,)): 19.0,
        ("hand valve", (WIDE,)): 1,
        ("elbow", (WIDE,)): 3,
        ("elbow", (WIDE, WIDE)): 1 + 2,
        ("coupling", (WIDE,)): 1,
        ("coupling", (WIDE, WIDE)): 1,
        ("tee", (WIDE, WIDE, WIDE)): 3,
        ("end cap", (WIDE,)): 2,
        ("stake", (WIDE,)): 4 + 3 + 4 + 3 + 1 + 10,
    }


LOW_RING = RING_MAIN.replace("tall bed", "low").replace('rise = "2 ft"', 'rise = "1.5 ft"')


def test_what_to_buy_has_the_share_to_spare():
    garden = garden_of(plan_with(*TWO_ZONES) + HEAD)
    rows = {(row.part, len(row.bores)): row for row in takeoff_of(layout_of(garden), garden)}
    assert rows["main line tube", 1].buy_length == pytest.approx(46.0 * FOOT * 1.1)
    # 7 x 1.1 = 7.7 and 3 x 1.1 = 3.3, whole parts; of valves and of parts at the tap none to spare.
    assert rows["elbow", 2].buy_count == 8
    assert rows["end plug", 1].buy_count == 4
    assert rows["hand valve", 1].buy_count == 3
    assert rows["filter", 0].buy_count == 2
    assert rows["hand valve", 1].where == ("low", "tall bed", "ring")
    assert rows["filter", 0].where == ("north", "south")


@pytest.mark.parametrize(
    "text",
    [
        plan_with(*TWO_ZONES) + HEAD,
        plan_with(*TWO_ZONES)
        + HEAD
        + RING_MAIN.replace("tall bed", "low").replace('rise = "2 ft"', 'rise = "1.5 ft"'),
        *(plan_with((BED, shape), ("runs = 2", line)) for shape, line, _ in BEDS),
    ],
)
def test_every_piece_is_in_one_line_and_every_line_has_its_pieces(text):
    garden = garden_of(text)
    layout = layout_of(garden)
    rows = takeoff_of(layout, garden)
    edges = sorted(number for row in rows for number in row.edges)
    bought = [n for n, edge in enumerate(layout.edges) if edge.kind != "head" or edge.part is not None]
    assert edges == bought
    assert sorted(number for row in rows for number in row.fittings) == list(range(len(layout.fittings)))
    for row in rows:
        if row.length is not None:
            assert row.length == pytest.approx(sum(layout.edges[number].length for number in row.edges))
        elif row.part != "stake":
            assert row.count == len(row.edges) + len(row.fittings)
    drawn = sum(edge.length for edge in layout.edges)
    assert sum(row.length for row in rows if row.length is not None) == pytest.approx(drawn)
