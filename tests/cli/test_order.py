"""`rillbook order` on the demo gardens and on the small one: tables, forms, exit codes, refusals."""

from __future__ import annotations

import csv
import io
from datetime import date

import pytest

from scheduler.season.trials import Trial
from tests.builders import make_bed, make_garden
from tests.cli.conftest import ON, Answer, Place, Run

TARIFF = '[tariff]\ncurrency = "USD"\n'


def with_order(place: Place, *, days: str = '["Tue", "Sat"]', more: str = "", exempt: str = "no") -> None:
    """Write the small plan with a restriction from the first of June on."""
    order = (
        '[[restriction]]\nreason = "dry summer, invented"\nbegins = 2026-06-01\nends = 2026-09-15\n'
        f'days = {days}\nexempt = "{exempt}"\n{more}\n'
    )
    place.write_plan((TARIFF, f"{order}{TARIFF}"))


def flat(answer: Answer) -> str:
    """Return the text of an answer with its lines joined."""
    return " ".join(answer.out.split())


@pytest.fixture
def demo_order(demo: Run) -> Answer:
    """Return the answer for the demo garden, whose restriction is entered as exempt."""
    return demo("order", "four_outlets", "--json")


def test_an_order_entered_as_exempt_is_shown_both_ways(demo_order: Answer) -> None:
    assert demo_order.code == 3
    assert demo_order.err.startswith("does not fit: under the order these beds pass their limit: ")
    document = demo_order.json
    assert document["schema"] == "rillbook.order/1"
    assert (document["feasible"], document["hardest_week"], document["longest_gap_days"]) == (False, True, 2)
    assert [order["exempt"] for order in document["orders"]] == ["yes"]
    for zone in ("fruit", "vines", "salad", "sown"):
        counted, left_out = (row for row in document["rows"] if row["zone"] == zone)
        assert (counted["order"], left_out["order"]) == ("counted in", "left out")
        assert set(counted["days"].split()) <= {"Mon", "Wed", "Fri", "Sat"}
        assert not set(left_out["days"].split()) <= {"Mon", "Wed", "Fri", "Sat"}
    for key, words in (("volume_l", "counted in"), ("volume_without_l", "left out")):
        by_zone = sum(row["volume_l"] for row in document["rows"] if row["order"] == words)
        assert document[key] == pytest.approx(by_zone)
        assert document[key] == pytest.approx(sum(bed[key] for bed in document["beds"]))


def test_the_schedule_with_the_order_left_out_is_that_of_week(demo_order: Answer, demo: Run) -> None:
    document = demo_order.json
    week = demo("week", "four_outlets", "--on", document["as_of"], "--json").json
    left_out = [row for row in document["rows"] if row["order"] == "left out"]
    for mine, theirs in zip(left_out, week["rows"], strict=True):
        assert {key: mine[key] for key in ("zone", "days", "starts", "run_time_min")} == {
            key: theirs[key] for key in ("zone", "days", "starts", "run_time_min")
        }
    before = {bed["bed"]: bed["deficit_before_mm"] for bed in week["beds"]}
    assert {bed["bed"]: bed["deficit_before_without_mm"] for bed in document["beds"]} == before


def test_every_bed_past_its_limit_has_its_remedies(demo_order: Answer) -> None:
    document = demo_order.json
    failing = {bed["bed"] for bed in document["beds"] if bed["past_limit"]}
    assert failing == {row["bed"] for row in document["remedies"]}
    assert failing
    for bed in document["beds"]:
        if bed["past_limit"]:
            assert bed["past_on"] >= document["as_of"]
            assert bed["past_mm"] > 0.05
        else:
            assert bed["past_on"] is None
    usual = {"mulch", "deeper soil", "split runs", "longer runs", "more hours", "another day", "by hand"}
    for name in failing:
        rows = {row["remedy"]: row for row in document["remedies"] if row["bed"] == name}
        assert usual <= set(rows)
        past = next(bed["past_mm"] for bed in document["beds"] if bed["bed"] == name)
        for row in rows.values():
            if row["left_mm"] is not None:
                # Less than a hundredth of an inch is shown as no change.
                assert row["gain_mm"] == pytest.approx(past - row["left_mm"], abs=0.15)
                assert row["gain_mm"] in (0.0, pytest.approx(past - row["left_mm"]))
        by_hand = rows["by hand"]
        assert by_hand["volume_l"] == pytest.approx(sum(by_hand["volumes_l"]))
        assert len(by_hand["days"]) == len(by_hand["volumes_l"])


def test_the_answer_in_words(demo: Run) -> None:
    answer = demo("order", "four_outlets", "--units", "us")
    assert answer.code == 3
    text = flat(answer)
    assert "you entered it as exempt, so `week` leaves it out; here it is counted in" in text
    assert "no day of asking entered" in text
    assert "It allows Mon Wed Fri Sat; the water of one run must last 2 days at the longest." in text
    assert "Whether the order binds you is not for rillbook to say" in text
    assert "Drip lines and beds of food are often exempt, so asking pays." in text
    assert "Cured is a bed no further past its limit than without the order." in text
    assert "What cures it, each alone:" in text
    assert "[gal]" in answer.out
    assert "[mm]" not in answer.out


@pytest.mark.parametrize(
    ("exempt", "words", "note"),
    [
        ("no", "you entered that you are not exempt, so `week` counts it in", "kept"),
        ("unknown", "you entered no exemption, or that it is unknown, so `week` counts it in", "kept, since"),
    ],
)
def test_other_entries_of_an_exemption(place: Place, exempt: str, words: str, note: str) -> None:
    with_order(place, exempt=exempt, more="asked_on = 2026-05-20\n")
    answer = place.run("order", "--on", ON)
    assert answer.code == 3
    text = flat(answer)
    assert f"Order (dry summer, invented): {words} (asked or read on 2026-05-20)." in text
    assert "It allows Tue Sat; the water of one run must last 4 days at the longest." in text
    assert "The week asked for" in text
    week = flat(place.week())
    assert f"Restriction (dry summer, invented), 2026-06-01 to 2026-09-15: {note}" in week
    assert "(asked or read on 2026-05-20)." in week
    # The week's own table counts it in as this one does.
    counted = place.run("order", "--on", ON, "--json").json["rows"][0]
    assert counted["days"] == place.week("--json").json["rows"][0]["days"]


def test_an_order_that_fits_ends_with_0(place: Place) -> None:
    with_order(place, days='["Mon", "Tue", "Wed", "Thu", "Fri", "Sat"]')
    answer = place.run("order", "--on", ON).answered()
    assert "keeps every bed within its limit: it fits" in flat(answer)
    assert "Remedies" not in answer.out
    document = place.run("order", "--on", ON, "--json").answered().json
    assert (document["feasible"], document["remedies"]) == (True, [])


def test_a_ban_and_its_many_refills(place: Place) -> None:
    with_order(place, days="[]")
    answer = place.run("order", "--on", ON)
    assert answer.code == 3
    text = flat(answer)
    assert "It allows no day." in text
    assert "no run this week" in text
    document = place.run("order", "--on", ON, "--json").json
    assert document["longest_gap_days"] is None
    assert document["volume_l"] == 0.0


def test_hours_that_leave_no_second_run(place: Place) -> None:
    # The order's evening and the plan's own morning have no hour in common.
    with_order(place, more="from = 20:00:00\nto = 23:00:00\n")
    document = place.run("order", "--on", ON, "--json").json
    assert document["volume_l"] == 0.0
    hours = next(row for row in document["remedies"] if row["remedy"] == "more hours")
    assert hours["verdict"] in ("cures", "helps")
    assert "must last" not in flat(place.run("order", "--on", ON))


def test_the_hardest_week_is_found_within_the_record(place: Place) -> None:
    with_order(place)
    document = place.run("order", "--json").json
    assert document["hardest_week"] is True
    assert date(2026, 6, 1) <= date.fromisoformat(document["as_of"]) <= date(2026, 7, 17)


def test_forms(place: Place) -> None:
    with_order(place)
    machine = place.run("order", "--on", ON, "--json").out
    assert place.run("order", "--on", ON, "--json", "--units", "us").out == machine
    table = place.run("order", "--on", ON, "--csv", "--part", "remedies").out
    rows = list(csv.DictReader(io.StringIO(table)))
    assert {row["bed"] for row in rows} == {"tall bed"}
    assert {row["verdict"] for row in rows} <= {
        "cures",
        "helps",
        "does nothing",
        "makes it worse",
        "cannot be done",
    }
    target = place.folder / "order.txt"
    assert place.run("order", "--on", ON, "--out", target).out == ""
    assert "Beds under the order" in target.read_text(encoding="utf-8")


def test_what_cannot_be_asked_is_refused(place: Place) -> None:
    place.run("order").refused("the plan has none", "[[restriction]]")
    with_order(place)
    place.run("order", "--on", "2026-05-20").refused(
        "none is in force on 2026-05-20", "2026-06-01 to 2026-09-15"
    )
    place.run("order", "--on", "2026-08-01").refused("the record runs")
    place.run("order", "--json", "--csv").refused("exclude each other", code=2)


def test_check_tells_the_day_of_asking_and_refuses_one_after_the_end(place: Place) -> None:
    with_order(place, more="asked_on = 2026-05-20\n")
    told = place.run("check", "--csv").answered().out
    assert "Tue Sat, all hours; exempt: no, asked or read on 2026-05-20" in told
    with_order(place, more="asked_on = 2026-09-16\n")
    place.check().refused("asked_on", "after its last day, 2026-09-15")


@pytest.mark.parametrize("units", ["us", "metric"])
@pytest.mark.parametrize(("plan", "day"), [("four_outlets", "2026-07-13"), ("one_outlet", "2026-07-13")])
def test_verdicts_match_the_columns_beside_them(demo: Run, plan: str, day: str, units: str) -> None:
    document = demo("order", plan, "--on", day, "--json").json
    text = flat(demo("order", plan, "--on", day, "--units", units))
    assert "-0.0" not in text
    assert "by 0.00 in" not in text
    assert "by 0.0 mm" not in text
    for row in document["remedies"]:
        if row["verdict"] == "helps" and row["gain_mm"] <= 0.0:
            assert "crops use more of their need" in row["what"]
        if row["verdict"] == "does nothing":
            assert row["gain_mm"] == 0.0
        if row["verdict"] == "makes it worse":
            assert row["gain_mm"] < 0.0
            assert "makes it worse by" in row["what"]


def test_a_second_refill_is_given_after_one_that_does_not_do(demo: Run) -> None:
    # Wet all over, the seed bed loses more on Thursday than its limit holds; Sunday's refill does.
    rows = demo("order", "four_outlets", "--on", "2026-07-13", "--json").json["remedies"]
    by_hand = next(row for row in rows if (row["bed"], row["remedy"]) == ("seed bed", "by hand"))
    assert by_hand["days"] == ["2026-07-16", "2026-07-19"]
    assert by_hand["verdict"] == "helps"
    assert by_hand["gain_mm"] > 4.0


def test_a_depth_that_is_not_nothing_is_not_shown_as_nothing() -> None:
    from scheduler.show.order_view import depth_text

    assert depth_text(0.06, "us") == "less than 0.01 in"
    assert depth_text(0.049, "metric") == "less than 0.1 mm"
    assert depth_text(1.06, "metric") == "1.1 mm"


def test_a_trial_that_does_harm_says_so() -> None:
    from scheduler.show.order_remedies import cure_line, remedy_part

    garden = make_garden([make_bed()])
    worse = Trial(0, "by hand", "makes it worse", 12.0, gain=-0.31, stress=1.0)
    by_ks = Trial(0, "mulch", "helps", 12.0, stress=0.82, relief=0.07)
    rows = remedy_part(garden, [worse, by_ks], "metric").rows
    assert [row["what"] for row in rows] == [
        "organic, on 80 %; crops use more of their need: Ks 0.82 instead of 0.75",
        "makes it worse by 0.3 mm",
    ]
    assert cure_line([worse], "metric") == "Nothing that was tried helps it."
    assert "most helps mulch (organic, on 80 %; crops use more" in cure_line([worse, by_ks], "metric")


def test_a_remedy_that_leaves_a_bed_further_past_is_told_by_ks() -> None:
    from scheduler.show.order_remedies import cure_line

    helps = Trial(0, "deeper soil", "helps", 20.0, gain=-8.0, stress=0.53, relief=0.4, amount=0.3)
    nothing = Trial(0, "mulch", "does nothing", 12.0)
    assert cure_line([helps, nothing], "metric") == (
        "Nothing that was tried cures it; most helps deeper soil (300 mm more; crops use more of their "
        "need: Ks 0.53 instead of 0.13, yet it is 8.0 mm further past its limit)."
    )
    assert cure_line([nothing], "metric") == "Nothing that was tried helps it."
