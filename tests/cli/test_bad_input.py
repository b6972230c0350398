"""Bad plans, records and arguments are refused: where, what was found, what would be right, and no number."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest

from tests.cli.conftest import HEADER, LAST_DAY, ON, PLAN, Place, Run, weather_rows, weather_text

# What is changed in the sound plan, and words of the message: place, found, wanted.
BAD_PLANS = {
    "no unit": ('length = "10 ft"', "length = 10", ('bed "tall bed" > length', "10 has no unit", '"10 in"')),
    "wrong dimension": ('length = "10 ft"', 'length = "10 gal"', ("> length", "10 gal", "volume", "length")),
    "inches typed as feet": ('length = "10 ft"', 'length = "96 ft"', ("> length", "96", "60 ft", "inches")),
    "flow of a tap at an emitter": (
        '"0.6 gal/h"',
        '"0.6 gal/min"',
        ('drip "line" > emitter_flow', "0.6 gal/min", "gal/h meant"),
    ),
    "flow of an emitter at the tap": (
        '"5 gal/min"',
        '"5 gal/h"',
        ("water_source > flow", "5 gal/h", "gal/min meant"),
    ),
    "dates reversed": (
        "planted = 2026-05-12\nremoved = 2026-07-12",
        "planted = 2026-07-12\nremoved = 2026-05-12",
        ("planting 1 (tomato) > removed", "2026-05-12", "2026-07-12", "exchanged"),
    ),
    "a date of two readings": (
        "planted = 2026-05-12",
        'planted = "03/04/2026"',
        ("planting 1 (tomato) > planted", "03/04/2026", "2026-05-12"),
    ),
    "latitude out of range": (
        '"44.6 N"',
        '"144.6 N"',
        ("site > latitude", "144.6 N", "90 degrees", "44.6 N"),
    ),
    "tiers out of order": ('"14 CCF"', '"5 CCF"', ("tariff > block 2 > up_to", "5 CCF", "more than 7 CCF")),
    "shares above all": ('share = "60 %"', 'share = "70 %"', ('bed "tall bed"', "110 %", "100 %")),
    "wilting point above capacity": (
        'wilting_point = "13 %"',
        'wilting_point = "33 %"',
        ('soil "mix" > wilting_point', "33 %", "32 %", "exchanged"),
    ),
    "efficiency in percent": (
        "exponent = 0.5",
        "exponent = 0.5\nefficiency = 90",
        ('drip "line" > efficiency', "90", '"90 %"', "0.90"),
    ),
    "unknown key": ("runs = 2", "rnus = 2", ('bed "tall bed" > rnus', "unknown", '"runs"')),
    "unknown crop": ('"tomato"', '"tomatto"', ("(tomatto) > crop", "tomatto", "tomato", "tomatillo")),
    "decimal comma": (
        'soil_depth = "14 in"',
        'soil_depth = "12,5 cm"',
        ("> soil_depth", "12,5 cm", "comma", "point"),
    ),
    "a slip in the text": ('length = "10 ft"', "length = 10 ft", ("line 36", "length = 10 ft", "quotes")),
    "a key written twice": ("runs = 2", "runs = 2\nruns = 2", ("line", "runs = 2")),
}


@pytest.mark.parametrize("command", ["week", "check"])
@pytest.mark.parametrize(("old", "new", "words"), BAD_PLANS.values(), ids=BAD_PLANS.keys())
def test_bad_plans(place: Place, command: str, old: str, new: str, words: tuple[str, ...]) -> None:
    place.write_plan((old, new))
    place.run(command).refused("garden.toml: 1 fault", *words)


def test_all_faults_of_a_plan_at_once(place: Place) -> None:
    place.write_plan(
        ('"44.6 N"', '"144.6 N"'),
        ('length = "10 ft"', "length = 10"),
        ('"0.6 gal/h"', '"0.6 gal/min"'),
        ('crop = "tomato"', 'crop = "tomatto"'),
        ("runs = 2", "rnus = 2"),
        ("removed = 2026-07-14", "removed = 2026-04-14"),
    )
    answer = place.week()
    answer.refused(
        "garden.toml: 6 faults", "latitude", "> length", "emitter_flow", "tomatto", "rnus", "(kale)"
    )
    assert len(answer.err.strip().splitlines()) == 7


class TestPlanFiles:
    def test_missing(self, place: Place, run: Run) -> None:
        run("week", place.folder / "no.toml").refused("no.toml", "no such file", "give a plan file")

    def test_a_folder(self, place: Place, run: Run) -> None:
        run("week", place.folder).refused(str(place.folder), "directory", code=2)

    @pytest.mark.parametrize("content", [b"", b" \n\n", b"# only words\n", b"\xef\xbb\xbf"])
    def test_empty(self, place: Place, content: bytes) -> None:
        place.plan.write_bytes(content)
        place.check().refused("garden.toml", "empty", "format = 1")

    @pytest.mark.parametrize("content", [bytes(range(256)) * 9, PLAN.encode("utf-16"), b"\x89PNG\r\n\xff"])
    def test_not_text(self, place: Place, content: bytes) -> None:
        place.plan.write_bytes(content)
        place.check().refused("garden.toml", "line", "not text", "UTF-8")

    def test_200_megabytes(self, place: Place) -> None:
        with place.plan.open("r+b") as file:
            file.truncate(200_000_000)
        place.check().refused("garden.toml", "larger than 1 MB", "right file")

    @pytest.mark.parametrize("mark", [b"\xef\xbb\xbf", b""])
    def test_byte_order_mark_and_line_ends(self, place: Place, mark: bytes) -> None:
        plain = place.week().answered()
        place.plan.write_bytes(mark + PLAN.replace("\n", "\r\n").encode())
        assert place.week() == plain


# How the rows of the sound record are changed, and words of the message.
BAD_CELLS = {
    "negative rain": (7, "-2.0", ("rain", "2026-06-01", "-2 mm", "at least 0 mm")),
    "code -99": (1, "-99", ("row 518", "tmax_c", "-99", "missing value", "empty")),
    "code -9999": (5, "-9999", ("row 518", "wind_m_s", "-9999", "missing value", "empty")),
    "humidity above all": (3, "130", ("rh_max", "2026-06-01", "130 %", "at most 10")),
    "tmin above tmax": (2, "40", ("tmin", "2026-06-01", "40", "21.7", "exchanged")),
    "a word": (1, "warm", ("row 518", "tmax_c", "warm", "number")),
    "a letter in a number": (1, "2O.5", ("row 518", "tmax_c", "2O.5", "number")),
}


@pytest.mark.parametrize(("at", "cell", "words"), BAD_CELLS.values(), ids=BAD_CELLS.keys())
def test_bad_cells(place: Place, at: int, cell: str, words: tuple[str, ...]) -> None:
    rows = weather_rows()
    rows["2026-06-01"][at] = cell
    place.write_weather(weather_text(rows))
    place.week().refused("weather.csv: 1 fault", *words)


def test_all_faults_of_a_record_at_once(place: Place) -> None:
    rows = weather_rows()
    for day, at, cell in (("01", 1, "warm"), ("02", 7, "-99"), ("03", 3, "1O0"), ("04", 5, "-9999")):
        rows[f"2026-06-{day}"][at] = cell
    place.write_weather(weather_text(rows))
    place.week().refused("weather.csv: 4 faults", '"warm"', "-99 ", '"1O0"', "-9999", "row 518", "row 521")


def test_impossible_values_of_every_kind_at_once(place: Place) -> None:
    rows = weather_rows()
    for day, at, cell in (("01", 7, "-2"), ("02", 3, "130"), ("03", 2, "45"), ("04", 6, "60")):
        rows[f"2026-06-{day}"][at] = cell
    place.write_weather(weather_text(rows))
    place.week().refused("weather.csv: 4 faults", "rain, 2026-06-01", "130 %", "tmin 45", "solar_radiation")


def test_unreadable_and_impossible_values_at_once(place: Place) -> None:
    rows = weather_rows()
    rows["2026-06-01"][1], rows["2026-06-02"][7] = "warm", "-2"
    place.write_weather(weather_text(rows))
    place.week().refused("weather.csv: 2 faults", '"warm"', "-2 mm")


class TestWeatherFiles:
    def test_missing(self, place: Place) -> None:
        place.record.unlink()
        place.week().refused("weather.csv", "no such file", "name of a weather file")

    def test_missing_is_also_seen_by_check(self, place: Place) -> None:
        place.record.unlink()
        answer = place.check()
        assert answer.code == 0
        assert re.search("weather.csv.*(not there|missing|not found|no such)", answer.out, re.I | re.S)

    def test_a_name_that_no_file_can_have(self, place: Place) -> None:
        place.write_plan(('"weather.csv"', '"weather\\u0000.csv"'))
        place.week().refused("weather", "file")

    def test_a_folder(self, place: Place) -> None:
        place.record.unlink()
        place.record.mkdir()
        place.week().refused("weather.csv", "directory", "name of a weather file")

    @pytest.mark.parametrize("text", ["", "\n \n", "# only words\n", HEADER + "\n"])
    def test_empty(self, place: Place, text: str) -> None:
        place.write_weather(text)
        place.week().refused("weather.csv", "the file", "one row a day")

    @pytest.mark.parametrize(
        "content", [bytes(range(256)) * 9, weather_text().encode("utf-16"), b"PK\x03\x04" * 9]
    )
    def test_not_text(self, place: Place, content: bytes) -> None:
        place.record.write_bytes(content)
        place.week().refused("weather.csv", "not a text file", "CSV in UTF-8")

    def test_200_megabytes(self, place: Place) -> None:
        with place.record.open("r+b") as file:
            file.truncate(200_000_000)
        place.week().refused("weather.csv", "200.0 MB", "at most 50 MB")

    def test_no_header(self, place: Place) -> None:
        place.write_weather(weather_text().split("\n", 1)[1])
        place.week().refused("row 1", "2025-01-01", "header")

    def test_no_unit(self, place: Place) -> None:
        place.write_weather(weather_text(header=HEADER.replace("tmax_c", "tmax")))
        place.week().refused('column "tmax"', "no unit", "[weather.columns]", "degF")

    def test_dates_of_two_readings(self, place: Place) -> None:
        place.write_weather(re.sub(r"(?m)^(\d{4})-(\d\d)-(\d\d)", r"\3/\2/\1", weather_text()))
        place.week().refused("row 2", "01/01/2025", "year-month-day", "03/04/2025", "more faults")

    def test_fahrenheit_given_as_celsius(self, place: Place) -> None:
        place.write_weather(weather_text(_fahrenheit()))
        place.week().refused("tmax", "degC", "Fahrenheit", "tmax_f", '"degF"')

    def test_fahrenheit_that_says_so(self, place: Place) -> None:
        plain = place.week().answered()
        header = HEADER.replace("tmax_c", "tmax_f").replace("tmin_c", "tmin_f")
        place.write_weather(weather_text(_fahrenheit(), header=header))
        assert place.week().answered().out == plain.out


def _fahrenheit() -> dict[str, list[str]]:
    rows = weather_rows()
    for cells in rows.values():
        cells[1], cells[2] = (f"{float(cell) * 1.8 + 32:.2f}" for cell in cells[1:3])
    return rows


class TestSpellingsOfARecord:
    """What is accepted gives the very same numbers as the plain file."""

    @pytest.mark.parametrize(
        ("spell", "said"),
        [
            (lambda text: "\ufeff" + text, ""),
            (lambda text: text.replace("\n", "\r\n"), ""),
            (lambda text: text.replace(",", "\t"), "tab"),
            (lambda text: text.replace(",", ";"), "semicolon"),
            (lambda text: text.replace(",", ";").replace(".", ","), "decimal comma"),
            (lambda text: text.replace(",", "\t").replace(".", ","), "decimal comma"),
        ],
        ids=["mark", "line ends", "tabs", "semicolons", "semicolons, commas", "tabs, commas"],
    )
    def test_same_numbers(self, place: Place, spell: Callable[[str], str], said: str) -> None:
        plain = place.run("weather", "--json").answered().json
        place.record.write_bytes(spell(weather_text()).encode())
        other = place.run("weather", "--json").answered().json
        assert other["rows"] == plain["rows"]
        assert said in " ".join(other["notes"])

    def test_decimal_comma_is_never_left_out(self, place: Place) -> None:
        rows = weather_rows()
        rows["2026-06-01"][1] = "22.5"
        place.write_weather(weather_text(rows).replace(",", ";").replace(".", ","))
        (row,) = place.run("weather", "--from", "2026-06-01", "--to", "2026-06-01", "--json").json["rows"]
        assert row["tmax_degc"] == 22.5

    def test_decimal_commas_between_commas(self, place: Place) -> None:
        place.write_weather(weather_text().replace(".", ","))
        place.week().refused("row 2", "16 cells", "9 cells", "decimal comma", "semicolons")


class TestDoubtsAboutARecord:
    """Warnings stand in what the gardener reads: the table of the week."""

    def test_identical_duplicates_warn(self, place: Place) -> None:
        plain = place.week("--json").json
        text = weather_text()
        line = next(line for line in text.splitlines() if line.startswith("2026-06-01"))
        place.write_weather(f"{text}{line}\n")
        doubled = place.week("--json").answered().json
        assert doubled["rows"] == plain["rows"]
        for answer in (place.week(), place.run("season"), place.run("weather")):
            assert re.search(r"given twice.*2026-06-01", answer.answered().out, re.S)

    def test_different_duplicates_are_quoted(self, place: Place) -> None:
        text = weather_text()
        line = next(line for line in text.splitlines() if line.startswith("2026-06-01"))
        other = line.replace(",21.7,", ",25.5,")
        assert other != line
        place.write_weather(f"{text}{other}\n")
        place.week().refused("2026-06-01", f'row 518 "{line}"', f'row 564 "{other}"', "one row for each date")

    def test_sign_of_the_latitude_against_the_warm_months(self, place: Place) -> None:
        fill = '"10 ft"\n[weather.fill]\nradiation = "from temperature"\n\n[soil'
        place.write_plan(('"44.6 N"', '"44.6 S"'), ('"10 ft"\n\n[soil', fill))
        place.write_weather(weather_text({day: [*c[:6], "", c[7]] for day, c in weather_rows().items()}))
        for answer in (place.week(), place.run("season"), place.run("weather")):
            assert re.search(r"warm\s+from\s+June.*latitude.*end\s+in\s+N", answer.answered().out, re.S)

    def test_sign_of_the_latitude_against_the_sun(self, place: Place) -> None:
        place.write_plan(('"44.6 N"', '"44.6 S"'))
        place.week().refused("solar_radiation", "2026-07", "latitude -44.6", "sign")


class TestGaps:
    GONE = dict.fromkeys(("d2026_06_01", "d2026_06_02", "d2026_06_10"))

    def test_refused_with_their_dates(self, place: Place) -> None:
        place.change_weather(**self.GONE)
        place.week().refused(
            "2026-06-01 to 2026-06-02", "2026-06-10", "missing on 3 days", "gaps", '"mean of neighbours"'
        )

    def test_a_column_of_nothing(self, place: Place) -> None:
        place.write_weather(weather_text({day: [*c[:6], "", ""] for day, c in weather_rows().items()}))
        place.week().refused("2 faults", "solar radiation", '"from temperature"', "rain", '"count as none"')

    @pytest.mark.parametrize("form", [(), ("--json",)])
    def test_filled_days_show_everywhere(self, place: Place, form: tuple[str, ...]) -> None:
        rule = '"10 ft"\n[weather.fill]\ngaps = "mean of neighbours"\n\n[soil'
        place.write_plan(('"10 ft"\n\n[soil', rule))
        place.change_weather(**self.GONE)
        answers = [
            place.week(*form),
            place.run("bed", "tall bed", "--on", ON, *form),
            place.run("season", *form),
            place.run("weather", "--from", "2026-05-30", "--to", ON, *form),
        ]
        for answer in answers:
            text = " ".join(answer.answered().out.split())
            assert "filled for missing days on 3 of" in text
            assert "2026-06-01 to 2026-06-02, 2026-06-10" in text


class TestDaysAndNames:
    def test_before_the_soil_state(self, place: Place) -> None:
        place.run("week", "--on", "2026-04-01").refused("soil_state", "2026-04-15", "2026-04-01", "full")

    def test_more_water_missing_than_the_bed_can_hold(self, place: Place) -> None:
        place.write_plan(('depletion = "full"', 'depletion = "500 mm"'))
        place.week().refused("soil_state", "500.0 mm", "67.6 mm", "tall bed")

    @pytest.mark.parametrize("day", ["2026-07-18", "2026-11-01", "2099-01-01"])
    def test_past_the_record(self, place: Place, day: str) -> None:
        for answer in (place.run("week", "--on", day), place.run("bed", "tall bed", "--on", day)):
            answer.refused("weather.csv", f"2025-01-01 to {LAST_DAY}", "2026-04-15", "another date")

    @pytest.mark.parametrize("year", ["2019", "0", "-1", "99999"])
    def test_a_year_that_the_record_lacks(self, place: Place, year: str) -> None:
        answer = place.run("season", "--year", year)
        answer.refused(year, code=answer.code)
        assert answer.code in (1, 2)

    def test_days_of_weather_that_are_not_there(self, place: Place) -> None:
        place.run("weather", "--from", "2030-01-01").refused("2030-01-01", "2025-01-01", LAST_DAY)
        place.run("weather", "--from", "2026-05-02", "--to", "2026-05-01").refused(
            "2026-05-02", "2026-05-01", code=2
        )

    def test_unknown_bed(self, place: Place) -> None:
        place.run("bed", "tal bed", "--on", ON).refused('"tal bed"', 'did you mean "tall bed"')


class TestOutputFiles:
    def test_out_that_cannot_be_written(self, place: Place) -> None:
        place.week("--out", place.folder / "no" / "x.txt").refused("x.txt", "cannot be written")
        place.week("--out", place.plan / "x.txt").refused("x.txt", "cannot be written")

    def test_plot_that_cannot_be_written(self, place: Place) -> None:
        place.week("--plot", place.folder / "no" / "x.svg").refused("x.svg", "cannot be written")

    @pytest.mark.parametrize("name", ["x.pdf", "x", "x.svg.gz"])
    def test_plot_of_another_kind(self, place: Place, name: str) -> None:
        answer = place.week("--plot", place.folder / name)
        answer.refused(name, ".svg", ".png", code=answer.code)
        assert answer.code in (1, 2)
        assert not (place.folder / name).exists()

    def test_nothing_is_written_for_bad_input(self, place: Place) -> None:
        place.write_plan(('"5 gal/min"', '"5 gal/h"'))
        place.week("--out", place.folder / "x.txt", "--plot", place.folder / "x.svg").refused("gal/min meant")
        assert {file.name for file in place.folder.iterdir()} == {"garden.toml", "weather.csv"}


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--csv", "--part", "bedz"), ("bedz", "beds", "days", "runs")),
        (("--part", "beds"), ("--part", "--csv")),
        (("--csv", "--json"), ("--csv", "--json")),
        (("--json", "--csv"), ("--csv", "--json")),
        (("--units", "imperial"), ("imperial", "metric", "us")),
        (("--unit", "us"), ("--unit", "--units")),
        (("--on", "15/06/2026"), ("--on", "15/06/2026")),
        (("--on", "2026-02-30"), ("2026-02-30", "--on")),
        (("more",), ("more",)),
    ],
)
def test_usage(place: Place, arguments: tuple[str, ...], words: tuple[str, ...]) -> None:
    place.week(*arguments).refused(*words, code=2)


def test_usage_of_the_command(run: Run, place: Place) -> None:
    run("wek", place.plan).refused("wek", "week", code=2)
    run("week").refused("GARDEN", code=2)
    run().refused("week", "season", code=2)
    place.run("bed").refused("BED", code=2)
    place.run("season", "--year", "2025", "--every-year").refused("--every-year", "--year", code=2)
