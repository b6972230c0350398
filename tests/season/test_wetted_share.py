"""Share of a bed that drip wets: the plan's, the line's by texture, else the table's."""

from dataclasses import replace

import pytest

from scheduler.season.ground import drip_wetted_share
from scheduler.show.notes import wetted_notes
from tests.builders import LINE, MIX, make_bed, make_garden

LOAM = replace(MIX, texture="loam")


def test_line_and_texture_by_hand():
    """Loam: at least 0.61 m across, 0.3 m apart.

    Between circles: 2 (0.15 sqrt(0.305^2 - 0.15^2) + 0.305^2 asin(0.15 / 0.305)) / 0.3 = 0.5844 m;
    4.6 m of it on 2.88 m2.
    """
    share, source = drip_wetted_share(make_bed(soil=LOAM))
    assert share == pytest.approx(4.6 * 0.5844 / 2.88, abs=1e-4)
    assert source.startswith("assumed: line length x wetted width / area; loam: ")


def test_no_more_than_the_bed_is_wetted():
    assert drip_wetted_share(make_bed(soil=LOAM, area=2.0))[0] == 1.0


def test_gaps_of_a_wide_line_in_sand():
    """Sand: 0.30 m across, 0.4 m apart: pi 0.3^2 / (4 x 0.4) = 0.17671 m of width."""
    bed = make_bed(soil=replace(MIX, texture="sand"), drip=replace(LINE, emitter_spacing=0.4))
    share, source = drip_wetted_share(bed)
    assert share == pytest.approx(4.6 * 0.17671 / 2.88, abs=1e-4)
    assert source.endswith("with dry gaps between the emitters")


@pytest.mark.parametrize(
    ("changes", "share", "source"),
    [
        ({"wetted_share": 0.5, "soil": LOAM}, 0.5, "stated in the plan"),
        ({"wetted_width": 0.3, "soil": LOAM}, 4.6 * 0.3 / 2.88, "line length x wetted width / area"),
        ({}, 0.35, "since the mix has no texture to go by"),
        ({"soil": replace(MIX, texture="pine bark")}, 0.35, "since the mix has no texture to go by"),
        ({"soil": LOAM, "line_length": None}, 0.35, "since the plan gives no length of line"),
    ],
)
def test_what_the_plan_says_goes_first_and_the_table_last(changes, share, source):
    found, words = drip_wetted_share(make_bed(**changes))
    assert found == pytest.approx(share)
    assert words.endswith(source)


def test_the_notes_name_the_beds_whose_share_is_assumed():
    beds = (make_bed("a", wetted_share=0.4), make_bed("b"), make_bed("c"), make_bed("d", soil=LOAM))
    garden = make_garden(list(beds))
    dual = replace(garden, planning=replace(garden.planning, coefficient="dual"))
    notes = wetted_notes(dual, garden.beds)
    assert [note.partition(":")[0] for note in notes] == ["b, c", "d"]
    assert "drip wets 35 % of the surface" in notes[0]
    assert "drip wets 93 % of the surface" in notes[1]
    single = replace(garden, planning=replace(garden.planning, coefficient="single"))
    assert wetted_notes(single, garden.beds) == ()
