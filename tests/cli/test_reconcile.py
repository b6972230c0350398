"""`reconcile` on ledgers that tell a story: sentences, units, machine forms, exit codes, lines to type."""

from __future__ import annotations

import csv
import io
import shlex
from pathlib import Path
from typing import Any

import pytest

from scheduler.garden.planfile import load_plan
from scheduler.ledger.place import ledger_path
from tests.cli.conftest import PLAN, Answer, Place
from tests.reconcile.stories import BEDS, Story

BED = PLAN[PLAN.index("[[bed]]") : PLAN.index("[[soil_state]]")]
#: Tables of every answer.
PARTS = ("rows", "rounds", "causes", "drift", "leak", "water", "readings", "next")


def five_beds() -> str:
    """Return the beds of the stories as text of a plan, their emitters counted."""
    text = ""
    for name, count in BEDS.items():
        one = BED.replace('"tall bed"', f'"{name}"').replace("runs = 2", f"emitters = {count}")
        text += one
    return text


@pytest.fixture
def garden(place: Place, monkeypatch: pytest.MonkeyPatch) -> Place:
    """Return a garden of five beds without a weather file, as its folder's own garden.toml."""
    monkeypatch.chdir(place.folder)
    place.write_plan(
        (BED, five_beds()),
        ('emitter_flow = "0.6 gal/h"', 'emitter_flow = "2 L/h"'),
        ('timezone = "Etc/GMT+1"', 'timezone = "Etc/GMT+8"'),
    )
    place.record.unlink()
    return place


@pytest.fixture
def story(garden: Place) -> Story:
    """Return a ledger beside the plan to write into."""
    return Story(ledger_path(garden.plan, load_plan(garden.plan)), zone="north")


def ask(garden: Place, *arguments: str) -> Answer:
    return garden.run("reconcile", *arguments)


def clogged(story: Story) -> None:
    story.rounds(4)
    story.round(salad_bed=25 / 33)


def texts(answer: Answer) -> str:
    """Return the printed answer with its line ends as blanks, so that sentences can be looked for."""
    return " ".join(answer.out.split())


class TestStories:
    def test_clog_of_eight_emitters(self, garden: Place, story: Story) -> None:
        clogged(story)
        answer = ask(garden)
        assert (answer.code, "Traceback" in answer.err) == (3, False)
        assert answer.err.startswith("looks wrong: flow")
        sentence = (
            "salad bed gives 24 % less than its own baseline: about 8 of 33 emitters blocked (6 to 10)."
        )
        assert sentence in texts(answer)
        assert "8 of 33 (6 to 10)" in answer.out

    def test_clogged_filter(self, garden: Place, story: Story) -> None:
        story.rounds(4)
        story.round(share=0.8)
        answer = ask(garden)
        assert answer.code == 3
        assert "All 5 beds give alike 20 % less than expected" in texts(answer)
        assert "first cause to look at: filter filling up" in texts(answer)
        assert "has drifted" not in answer.out

    def test_leak_upstream_of_the_timer(self, garden: Place, story: Story) -> None:
        story.advise(story.today, start_min=600)
        story.wait(hours=4)
        story.read()
        story.wait(hours=9)
        story.use(190.0)
        story.read()
        answer = ask(garden)
        assert answer.code == 3
        assert "507 L a day pass while nothing runs, house and garden tap to timer" in texts(answer)
        assert "Water that the house used during a step" in texts(answer)

    def test_slip_of_the_pen(self, garden: Place, story: Story) -> None:
        story.read()
        for shows in (8_502.0, None):
            story.wait(days=3)
            story.use(2_000.0)
            story.read(shows=shows)
        answer = ask(garden)
        assert answer.code == 3
        assert 'The reading "8.502 m3" of 2026-05-06 18:00 is left out: the register goes back' in texts(
            answer
        )

    def test_rollover_is_told_and_is_nothing_wrong(self, garden: Place, story: Story) -> None:
        text = garden.plan.read_text(encoding="utf-8")
        meter = '\n[meter]\ncapacity = "100 m3"\nsmallest_digit = "1 L"\n'
        garden.plan.write_text(text + meter, encoding="utf-8")
        story.register = 99_000.0
        story.read()
        story.wait(days=7)
        story.register = 3_770.0
        story.read()
        answer = ask(garden).answered()
        assert "The register passed zero between 2026-05-03 18:00 and 2026-05-10 18:00" in texts(answer)
        assert "is assumed" not in answer.out

    def test_sound_garden(self, garden: Place, story: Story) -> None:
        story.rounds(5)
        answer = ask(garden).answered()
        assert "Nothing looks wrong in what is recorded." in answer.out
        assert "of all by" in texts(answer)
        assert "would have shown in 95 % of cases" in texts(answer)

    def test_one_reading(self, garden: Place, story: Story) -> None:
        story.read()
        answer = ask(garden).answered()
        assert "Too little is recorded" in answer.out
        assert "One reading of the whole garden says nothing by itself" in texts(answer)

    def test_nothing_recorded_makes_no_file(self, garden: Place) -> None:
        answer = ask(garden).answered()
        assert "Too little is recorded" in answer.out
        assert "rillbook log meter" in answer.out
        assert sorted(path.name for path in garden.folder.iterdir()) == ["garden.toml"]

    def test_water_of_the_week(self, garden: Place, story: Story) -> None:
        use = 681.4
        for extra in (0.0, 4_000.0):
            story.advise(story.today, minutes=30)
            story.read()
            story.use(7 * (use + 167.0) + extra)
            story.wait(days=7)
        story.advise(story.today, minutes=30)
        story.read()
        answer = ask(garden)
        assert answer.code == 3
        assert "L more than explained, beyond the" in texts(answer)
        assert "or the house used more than the plan states" in texts(answer)
        water = ask(garden, "--json").json["water"]
        assert [row["verdict"] for row in water] == ["fits", "more"]
        assert water[1]["rest_l"] == pytest.approx(4_000.0, abs=5.0)


class TestForms:
    def test_both_unit_systems_say_the_same(self, garden: Place, story: Story) -> None:
        clogged(story)
        metric, us = ask(garden), ask(garden, "--units", "us")
        assert "[L/h]" in metric.out
        assert "[gal/h]" in us.out
        sentence = "about 8 of 33 emitters blocked (6 to 10)"
        assert sentence in texts(metric)
        assert sentence in texts(us)
        assert "50.0" in metric.out
        assert "13.2" in us.out
        assert '"22325.4 gal"' in us.out

    def test_json_is_complete_and_keeps_its_units(self, garden: Place, story: Story) -> None:
        clogged(story)
        answer = ask(garden, "--json")
        document = answer.json
        assert document["schema"] == "rillbook.reconcile/1"
        assert all(isinstance(document[part], list) for part in PARTS)
        assert (document["looks_wrong"], document["wrong"]) == (True, ["flow", "drift"])
        assert document["as_of"] == "2026-06-28"
        salad = next(row for row in document["rows"] if row["bed"] == "salad bed")
        assert salad["flow_l_h"] == pytest.approx(50.0)
        assert salad["baseline_l_h"] == pytest.approx(66.0)
        assert salad["change_percent"] == pytest.approx(-24.2, abs=0.1)
        assert salad["limit_percent"] < salad["detectable_percent"] < 20
        assert salad["blocked_emitters_least"] < salad["blocked_emitters"] < salad["blocked_emitters_most"]
        assert document["rounds"][0]["kind"] == "local"
        assert document["rounds"][0]["false_alarm_percent"] == pytest.approx(5.0)
        causes = [row["cause"] for row in document["causes"]]
        assert causes == ["blocked emitters", "kinked or squeezed line", "valve not fully open"]
        assert any("emitters blocked" in sentence for sentence in document["sentences"])
        assert ask(garden, "--json", "--units", "us").out == answer.out

    def test_json_of_nothing_has_every_part(self, garden: Place) -> None:
        document = ask(garden, "--json").json
        assert {part for part in PARTS if isinstance(document[part], list)} == set(PARTS)
        assert (document["looks_wrong"], document["as_of"]) == (False, None)

    @pytest.mark.parametrize("part", PARTS)
    def test_every_part_as_csv(self, garden: Place, story: Story, part: str) -> None:
        clogged(story)
        rows = list(csv.DictReader(io.StringIO(ask(garden, "--csv", "--part", part).out)))
        document: dict[str, Any] = ask(garden, "--json").json
        assert len(rows) == len(document[part])

    def test_text_fits_its_width(self, garden: Place, story: Story) -> None:
        clogged(story)
        lines = ask(garden).out.splitlines()
        assert max(map(len, lines)) <= 110
        assert not {"nan", "inf", "None"} & set(" ".join(lines).replace(",", " ").split())

    def test_one_bed(self, garden: Place, story: Story) -> None:
        clogged(story)
        salad, tall = (ask(garden, "--bed", bed, "--json") for bed in ("salad bed", "tall bed"))
        assert (salad.code, tall.code) == (3, 0)
        assert [row["bed"] for row in salad.json["rows"]] == ["salad bed"]
        assert "what changed is in other beds" in texts(ask(garden, "--bed", "tall bed"))

    def test_unknown_bed_is_refused_with_the_nearest(self, garden: Place) -> None:
        ask(garden, "--bed", "salat bed").refused("salat bed", 'did you mean "salad bed"?')

    def test_file_that_is_no_ledger_is_refused(self, garden: Place, story: Story) -> None:
        Path(story.path).write_text("date,rain\n", encoding="utf-8")
        ask(garden).refused("SQLite")

    def test_help_names_the_exit_code(self, garden: Place) -> None:
        assert "with 3 if something looks wrong" in texts(garden._run("reconcile", "--help"))


class TestRelaid:
    """From `log relaid` to what `reconcile` says."""

    def relay(self, garden: Place, story: Story, bed: str = "salad bed") -> None:
        words = ("--on", f"{story.today}", "--at", f"{story.now:%H:%M}")
        answer = garden._run("log", "relaid", bed, *words)
        assert (answer.code, answer.out) == (0, ""), answer.err

    def test_what_was_wrong_is_no_longer_compared(self, garden: Place, story: Story) -> None:
        clogged(story)
        assert ask(garden).code == 3
        self.relay(garden, story)
        answer = ask(garden).answered()
        assert (
            "salad bed: since the line was relaid on 2026-07-12 its flow is followed anew. "
            "5 earlier tests are no longer compared."
        ) in texts(answer)
        assert "Flow of salad bed since the line was relaid on 2026-07-12: no water in the house" in texts(
            answer
        )
        row = next(row for row in ask(garden, "--json").json["rows"] if row["bed"] == "salad bed")
        assert (row["verdict"], row["tests"], row["baseline_from"]) == ("not tested", 0, "print")
        assert (row["relaid_on"], row["tests_before_relaid"]) == ("2026-07-12", 5)
        assert garden._run("log", "undo").code == 0
        assert ask(garden).code == 3

    def test_print_then_a_baseline_of_its_own(self, garden: Place, story: Story) -> None:
        clogged(story)
        self.relay(garden, story)
        story.round(salad_bed=0.7)
        answer = ask(garden)
        assert answer.code == 3
        assert "salad bed gives 30 % less than its printed flow since the line was relaid on" in texts(answer)
        assert "with its printed flow since the line was relaid on 2026-07-12; after 3 more tests" in texts(
            answer
        )
        for _ in range(3):
            story.round(salad_bed=0.7)
        told = texts(ask(garden).answered())
        assert "part of that baseline" in told
        story.round(salad_bed=0.5)
        answer = ask(garden)
        assert answer.code == 3
        assert "less than its own baseline since the line was relaid on 2026-07-12: " in texts(answer)

    def test_drift_tells_since_when(self, garden: Place, story: Story) -> None:
        self.relay(garden, story)
        story.rounds(3)
        for n in range(9):
            story.round(salad_bed=1.0 - 0.008 * (n + 1))
        answer = ask(garden)
        assert "drift" in answer.err
        assert "than its own baseline since the line was relaid on 2026-05-03, over 9 tests" in texts(answer)

    def test_baseline_that_is_younger_than_a_clog_of_all(self, garden: Place, story: Story) -> None:
        story.rounds(4)
        self.relay(garden, story)
        for _ in range(4):
            story.round(share=0.8)
        answer = ask(garden)
        assert answer.code == 3
        assert "4 of 5 beds give alike 19 % less" in texts(answer)
        assert (
            "salad bed shows no change since the line was relaid on 2026-06-28: its baseline is younger than "
            "the change of the others. Mend first what all have in common; then log the bed as relaid again"
        ) in texts(answer)

    def test_relaid_bed_that_is_off_beside_the_others(self, garden: Place, story: Story) -> None:
        story.rounds(4)
        self.relay(garden, story)
        story.rounds(3)
        story.round(share=0.8, salad_bed=0.6)
        assert (
            "less again, beside that, going by its own baseline since the line was relaid on 2026-06-28: "
        ) in texts(ask(garden))


class TestNextLines:
    def lines(self, garden: Place) -> list[str]:
        return [row["command"] for row in ask(garden, "--json").json["next"]]

    def test_lines_can_be_typed_as_they_stand(self, garden: Place, story: Story) -> None:
        """Every line is run by the command itself; what it keeps is then there."""
        story.read()
        story.wait(days=7)
        story.use(3_000.0)
        story.read()
        lines = self.lines(garden)
        kinds = {tuple(shlex.split(line))[1:3] for line in lines}
        assert kinds == {("log", "meter"), ("log", "ran"), ("log", "valve")}
        for line in lines:
            name, command, *rest = shlex.split(line)
            assert name == "rillbook"
            answer = garden._run(command, *rest)
            assert (answer.code, answer.out) == (0, ""), answer.err

    def test_untested_beds_come_one_by_one(self, garden: Place, story: Story) -> None:
        story.test("tall bed")
        answer = ask(garden)
        assert '--bed "low bed"' in answer.out
        assert "then likewise salad bed, round bed, bean row" in texts(answer)
        assert "after 3 more tests it has a baseline of its own" in texts(answer)

    def test_begun_test_asks_for_its_end(self, garden: Place, story: Story) -> None:
        story.read("low bed")
        assert "low bed: the reading of 18:00 is the beginning of a test" in texts(ask(garden))

    def test_path_of_the_plan_is_quoted(self, garden: Place) -> None:
        other = garden.folder / "my $garden.toml"
        garden.plan.rename(other)
        answer = garden._run("reconcile", "my $garden.toml", "--json")
        line = answer.json["next"][0]["command"]
        assert line.endswith('--garden "my \\$garden.toml"')
