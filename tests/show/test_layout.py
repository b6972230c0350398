"""The drawing of a layout and its parts list: all is there, to scale, in either unit system."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from scheduler.garden.planfile import load_plan
from scheduler.layout.segments import layout_of
from scheduler.layout.takeoff import takeoff_of
from scheduler.show.layout_drawing import layout_figure
from scheduler.show.layout_marks import marked_fittings
from scheduler.show.layout_tracks import main_tracks
from scheduler.show.plot import save_figure
from scheduler.show.report import Report, render_csv, render_json, render_text
from scheduler.show.takeoff_view import takeoff_part
from tests.layout.plans import MAIN, garden_of, plan_with
from tests.layout.test_takeoff import HEAD, RING_MAIN, TWO_ZONES

DEMO = Path(__file__).resolve().parents[2] / "config" / "demo_four_outlets.toml"


@pytest.fixture(scope="module")
def demo():
    return load_plan(DEMO)


def words(figure):
    """Return every text of a figure."""
    (axes,) = figure.axes
    (legend,) = figure.legends
    texts = [*axes.texts, *legend.get_texts(), *figure.texts]
    return "\n".join(text.get_text() for text in texts)


def test_demo_garden_lays_out_cleanly(demo):
    layout = layout_of(demo)
    assert layout.notes == ()
    assert not [note for note in demo.assumed if "overlaps" in note.text]
    found = {
        bed.name: sum(n.bed == bed.name and n.kind == "emitter" for n in layout.nodes) for bed in demo.beds
    }
    assert found == {bed.name: bed.emitters for bed in demo.beds}


@pytest.mark.parametrize(("system", "bar"), [("us", "5 ft"), ("metric", "2 m")])
def test_drawing_names_beds_lengths_and_signs(demo, system, bar):
    layout = layout_of(demo)
    figure = layout_figure(layout, demo, system=system)
    text = words(figure)
    for bed in demo.beds:
        assert bed.name in text
    assert ("21.0 ft" if system == "us" else "6.40 m") in text
    for one in (bar, "hand valve (6)", "tee (7)", "end plug (14)", "main of vines", "down to the main"):
        assert one in text
    (axes,) = figure.axes
    assert axes.get_aspect() == 1.0


def test_every_fitting_of_the_parts_list_is_drawn(demo):
    layout = layout_of(demo)
    drawn = [fitting for fitting, _, _ in marked_fittings(layout)]
    assert drawn == list(layout.fittings)
    (axes,) = layout_figure(layout, demo, system="us").axes
    signs = [line for line in axes.lines if line.get_linestyle() == "None" and len(line.get_xdata()) == 1]
    assert len(signs) == len(layout.fittings)
    rows = takeoff_of(layout, demo)
    assert sum(len(row.fittings) for row in rows) == len(drawn)


def test_mains_in_one_trench_lie_side_by_side(demo):
    layout = layout_of(demo)
    tracks = main_tracks(layout, 0.1)
    level = {
        layout.edges[number].zone: start[1]
        for number, (start, end) in tracks.edges.items()
        if start[0] == pytest.approx(0.0, abs=0.4) and end[0] > start[0] + 0.5
    }
    assert level["vines"] - level["fruit"] == pytest.approx(0.1)
    assert level["salad"] - level["vines"] == pytest.approx(0.1)


@pytest.mark.parametrize("ending", ["svg", "png"])
def test_drawing_is_written(demo, tmp_path, ending):
    path = tmp_path / f"layout.{ending}"
    save_figure(layout_figure(layout_of(demo), demo, system="us"), path)
    content = path.read_bytes()
    assert len(content) > 10_000
    assert (b"tall bed" in content) == (ending == "svg")


def test_what_is_not_on_the_sketch_is_listed():
    text = plan_with(
        (MAIN, '\n[takeoff]\nspare = "0 %"\n'), ('position = ["3 ft", "2 ft"]\nrim_height = "12 in"\n', "")
    )
    garden = garden_of(text + RING_MAIN)
    figure = layout_figure(layout_of(garden), garden, system="us")
    listed = figure.get_supxlabel()
    for one in ("out 10.0 ft", "short way 8.0 ft", "long way 12.0 ft", "back 9.0 ft", "up 3.0 ft"):
        assert one in listed


class TestTakeoff:
    @pytest.fixture
    def report(self):
        garden = garden_of(plan_with(*TWO_ZONES) + HEAD)
        rows = takeoff_of(layout_of(garden), garden)

        def make(system):
            part = takeoff_part(rows, garden, system=system)
            return Report(schema="rillbook.layout/1", title="layout", as_of=None, parts=(part,))

        return make

    def test_text(self, report):
        text = render_text(report("us"), system="us", width=140, colour=False)
        for one in ("0.600 x 0.170 in", "46.0", "50.6", "all beds", 'drip line "line"', "north, south"):
            assert one in text
        assert "15.2 x 4.3 mm" in render_text(report("metric"), system="metric", width=140, colour=False)

    def test_machine_rows_do_not_change_with_the_units(self, report):
        rows = json.loads(render_json(report("us")))["takeoff"]
        main = next(row for row in rows if row["part"] == "main line tube")
        assert main["length_m"] == pytest.approx(46 * 0.3048)
        assert main["buy_length_m"] == pytest.approx(46 * 0.3048 * 1.1)
        assert main["bores_mm"] == [pytest.approx(15.24)]
        metric = json.loads(render_json(report("metric")))["takeoff"]
        assert [{**row, "size": ""} for row in rows] == [{**row, "size": ""} for row in metric]
        head, *lines = render_csv(report("us")).splitlines()
        assert head.startswith("part,size,bores_mm,count,length_m,buy_count,buy_length_m")
        assert len(lines) == len(rows)
