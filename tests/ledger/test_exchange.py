"""Out as CSV and JSON and back in; a file with faults adds nothing and names each of them."""

import datetime
import json
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.errors import LedgerError
from scheduler.ledger.columns import TABLES, find_table
from scheduler.ledger.entries import Bill, Dig, Gauge, Reading, Run
from scheduler.ledger.exchange import export_csv, export_json, import_csv, import_json, restore_json
from scheduler.ledger.sheetrows import Known
from scheduler.ledger.store import Ledger
from tests.ledger.samples import DAY, NOW, SAMPLES, hand_entries, record_samples

LATER = NOW + datetime.timedelta(days=1)
KNOWN = Known(LATER)
BILL = "first_day,last_day,units,unit,amount,currency\n"
BY_HAND = [name for name, table in TABLES.items() if table.by_hand]
PLAN = Known(LATER, beds=("low bed", "tall bed"), zones=("north",), timezone=ZoneInfo("Europe/Berlin"))


def content(ledger):
    """Return what a person entered, by table, without row numbers."""
    return {name: [(k.recorded_at, k.entry) for k in ledger.rows(TABLES[name])] for name in BY_HAND}


def faults_of(function, *args, **kwargs):
    with pytest.raises(LedgerError) as caught:
        function(*args, **kwargs)
    return [str(fault) for fault in caught.value.faults]


def test_csv_of_a_table(ledger):
    record_samples(ledger)
    ledger.record_gauge(Gauge(DAY, 0.1), recorded_at=NOW)
    ledger.undo_last(NOW)
    lines = ["id,recorded_at,date,rain_mm,place", "1,2026-07-13T04:10:00Z,2026-07-13,8.0,canopy"]
    assert export_csv(ledger, "gauge").splitlines() == lines
    marked = [f"{lines[0]},withdrawn", f"{lines[1]},0", "2,2026-07-13T04:10:00Z,2026-07-13,0.1,open,1"]
    assert export_csv(ledger, "gauge", withdrawn=True).splitlines() == marked
    for name in TABLES:
        assert export_csv(ledger, name).startswith("id,recorded_at,")
    assert faults_of(export_csv, ledger, "gages") == ['table: "gages"; did you mean "gauge"?']


def test_json_of_all_and_of_some_tables(ledger):
    record_samples(ledger)
    document = json.loads(export_json(ledger))
    assert document["schema"] == "rillbook.ledger/1"
    assert {name: len(rows) for name, rows in document["tables"].items()} == dict.fromkeys(TABLES, 1) | {
        "withdrawal": 0
    }
    some = json.loads(export_json(ledger, tables=["bill"]))["tables"]
    assert some["bill"][0]["amount"] == "48.10"
    assert list(some) == ["bill"]


def test_everything_comes_back_as_it_was(tmp_path):
    with Ledger.open(tmp_path / "a.sqlite") as ledger, Ledger.open(tmp_path / "b.sqlite") as other:
        record_samples(ledger)
        ledger.correct(
            ledger.gauges_between(DAY, DAY)[0], Gauge(DAY, 7.0), reason="misread", recorded_at=LATER
        )
        ledger.record_dig(Dig(DAY, 'the "old" bed, left', "wet"), recorded_at=NOW)
        ledger.record_gauge(Gauge(DAY, 7.0), recorded_at=NOW)
        ledger.undo_last(LATER)
        text = export_json(ledger, withdrawn=True)
        assert restore_json(other, text) == len(SAMPLES) + 3 + 2
        assert export_json(other, withdrawn=True) == text
        assert other.logbook() == ledger.logbook()
        assert other.undo_last(LATER) == ledger.undo_last(LATER)


@pytest.mark.parametrize(
    ("change", "fault"),
    [
        (lambda d: d.pop("logbook"), "a part of a ledger"),
        (lambda d: d["tables"].pop("bill"), "a part of a ledger"),
        (lambda d: d["tables"].pop("moisture"), "a part of a ledger"),
        (lambda d: d.pop("schema"), "another kind of JSON"),
        (lambda d: d["logbook"].pop(), "logbook"),
        (lambda d: d["logbook"].append(["gauge"]), "logbook"),
        (lambda d: d["logbook"].append([[], {}]), "logbook"),
        (lambda d: d["tables"]["gauge"][0].pop("id"), 'no column "id"'),
        (lambda d: d["tables"]["gauge"][0].update(id=-1), "column id: -1"),
        (lambda d: d["tables"]["gauge"][0].update(recorded_at=None), "column recorded_at"),
        (lambda d: d["tables"]["gauge"][0].update(rain_mm=-8), "gauge, row 1, column rain_mm: -8"),
        (lambda d: d["tables"]["gauge"].append(d["tables"]["gauge"][0]), "gauge, row 2, column id: 1, twice"),
        (lambda d: d["tables"]["timetable"][0].update(plan_id=9), "FOREIGN KEY"),
        (lambda d: d["tables"]["plan_version"].append([]), "plan_version, row 2: no object"),
        (lambda d: d["tables"].update(dig={}), "dig: no list"),
    ],
)
def test_a_changed_export_restores_nothing(tmp_path, change, fault):
    with Ledger.open(tmp_path / "a.sqlite") as ledger, Ledger.open(tmp_path / "b.sqlite") as other:
        record_samples(ledger)
        document = json.loads(export_json(ledger, withdrawn=True))
        change(document)
        assert fault in "\n".join(faults_of(restore_json, other, json.dumps(document)))
        assert all(not other.rows(table, withdrawn=True) for table in TABLES.values())


def test_an_export_of_an_earlier_version_comes_back(tmp_path):
    with Ledger.open(tmp_path / "a.sqlite") as ledger, Ledger.open(tmp_path / "b.sqlite") as other:
        record_samples(ledger)
        document = json.loads(export_json(ledger, withdrawn=True))
        added = [name for name, table in TABLES.items() if table.since > 1]
        assert added == ["relaid", "moisture"]
        document["tables"] = {n: rows for n, rows in document["tables"].items() if n not in added}
        document["logbook"] = [line for line in document["logbook"] if line[0] not in added]
        assert restore_json(other, json.dumps(document)) == len(SAMPLES) - len(added)
        for name in TABLES:
            assert other.rows(TABLES[name]) == (() if name in added else ledger.rows(TABLES[name]))


def test_gauges_of_the_first_version_knew_the_open_only(tmp_path):
    with Ledger.open(tmp_path / "a.sqlite") as ledger, Ledger.open(tmp_path / "b.sqlite") as other:
        ledger.record(Gauge(DAY, 8.0), recorded_at=NOW)
        document = json.loads(export_json(ledger, withdrawn=True))
        for row in document["tables"]["gauge"]:
            del row["place"]
        restore_json(other, json.dumps(document))
        assert [kept.entry for kept in other.rows(TABLES["gauge"])] == [Gauge(DAY, 8.0, "open")]
        document["tables"]["gauge"][0].pop("rain_mm")
    with Ledger.open(tmp_path / "c.sqlite") as third:
        assert "rain_mm" in "\n".join(faults_of(restore_json, third, json.dumps(document)))


def test_soil_moisture_of_a_spreadsheet(ledger):
    rows = "date,bed,kind,content_share,tension_kpa\n2026-07-13,low bed,content,0.24,\n"
    import_csv(ledger, "moisture", f"{rows}2026-07-14,tall bed,tension,,35\n", known=PLAN)
    found = [kept.entry for kept in ledger.rows(TABLES["moisture"])]
    assert [(one.content_share, one.tension_kpa) for one in found] == [(0.24, None), (None, 35.0)]
    faults = faults_of(
        import_csv, ledger, "moisture", f"{rows}2026-07-14,low bad,content,24,35\n", known=PLAN
    )
    assert faults == [
        "row 3, column content_share: 24.0; must be a number from 0 to 0.8 (a share of the soil's volume: "
        "24 % is 0.24)",
        'row 3, column bed: "low bad", not in the plan; did you mean "low bed"?',
    ]


def test_only_an_empty_ledger_is_restored_into(ledger):
    record_samples(ledger)
    text = export_json(ledger, withdrawn=True)
    assert "must be an empty ledger" in faults_of(restore_json, ledger, text)[0]


@settings(max_examples=25, deadline=None)
@given(entries=hand_entries, again=st.booleans())
def test_csv_and_json_round_trips(tmp_path_factory, entries, again):
    folder = tmp_path_factory.mktemp("trip")
    with (
        Ledger.open(folder / "a.sqlite") as ledger,
        Ledger.open(folder / "b.sqlite") as by_csv,
        Ledger.open(folder / "c.sqlite") as by_json,
    ):
        with ledger.writing():
            for entry in entries:
                row = ledger.record(entry, recorded_at=NOW)
                assert ledger.row(find_table(type(entry)), row).entry == entry
        texts = {name: export_csv(ledger, name) for name in BY_HAND}
        document = export_json(ledger, tables=BY_HAND)
        for _ in range(1 + again):
            added = [import_csv(by_csv, name, text, known=KNOWN).added for name, text in texts.items()]
            imported = import_json(by_json, document, known=KNOWN)
        assert sum(added) == imported.added == (0 if again else len(entries))
        assert content(by_csv) == content(by_json) == content(ledger)
        assert {name: export_csv(by_csv, name) for name in BY_HAND} == texts


def test_a_spreadsheet_with_what_is_needed_only(ledger):
    rows = [
        "bed ; minutes;status;date",
        "low bed;;ran;2026-07-13",
        ";;;",
        " tall bed;12.5;ran;2026-07-14",
        "",
    ]
    text = "\ufeff" + "\r\n".join(rows)
    imported = import_csv(ledger, "run", text, known=PLAN)
    assert (imported.added, imported.already_kept) == (2, 0)
    assert imported.notes == ("cells are separated by semicolons",)
    expected = [
        Run(DAY, "ran", bed="low bed"),
        Run(DAY + datetime.timedelta(days=1), "ran", bed="tall bed", minutes=12.5),
    ]
    assert [kept.entry for kept in ledger.rows(TABLES["run"])] == expected
    assert {kept.recorded_at for kept in ledger.rows(TABLES["run"])} == {LATER}
    tabs = text.replace(";", "\t")
    assert import_csv(ledger, "run", tabs, known=PLAN).already_kept == 2


def test_empty_cells_take_defaults(ledger):
    import_csv(ledger, "gauge", "date,rain_mm,place\n2026-07-13,8,\n", known=KNOWN)
    assert [kept.entry for kept in ledger.rows(TABLES["gauge"])] == [Gauge(DAY, 8.0, "open")]
    import_csv(ledger, "bill", export_csv(ledger, "bill"), known=KNOWN)
    assert ledger.bills() == ()


def test_times_are_read_in_the_zone_of_the_garden(ledger):
    text = "at,kind,volume_l\n2026-07-13 06:10,meter,84512\n2026-07-13T06:10:00+03:00,meter,84511\n"
    import_csv(ledger, "reading", text, known=PLAN)
    hour = datetime.timedelta(hours=1)
    found = [kept.entry for kept in ledger.readings()]
    assert found == [Reading(NOW - hour, "meter", 84511.0), Reading(NOW, "meter", 84512.0)]
    wanted = ['row 2, column at: "2026-07-13 06:10"; needs its zone']
    assert faults_of(import_csv, ledger, "reading", text, known=KNOWN)[0].startswith(wanted[0])


@pytest.mark.parametrize("time", ["2026-03-29 02:30", "2026-10-25 02:30"])
def test_a_time_in_a_change_of_the_clock_is_asked_about(ledger, time):
    (fault,) = faults_of(import_csv, ledger, "valve", f"at,bed,state\n{time},low bed,open\n", known=PLAN)
    assert "lies in a change of the clock" in fault


def test_equal_rows_count_as_often_as_they_come(ledger):
    text = "date,rain_mm\n2026-07-13,4\n2026-07-13,4\n"
    ledger.record_gauge(Gauge(DAY, 4.0), recorded_at=NOW)
    assert import_csv(ledger, "gauge", text, known=KNOWN).added == 1
    assert import_csv(ledger, "gauge", text, known=KNOWN).added == 0
    ledger.undo_last(NOW)
    assert import_csv(ledger, "gauge", text, known=KNOWN).added == 1


def test_all_faults_of_a_spreadsheet_at_once_and_nothing_added(ledger):
    rows = [
        "2026-07-13,8.0,open",
        "2026-02-30,8.0,open",
        "13/07/2026,8.0,open",
        '2026-07-13,"8,0",open',
        "2026-07-13,1_000,open",
        "2026-07-13,nan,open",
        "2026-07-13,-8,shed",
        "2026-07-13,,open",
        ",8.0,",
        "2026-07-13,8.0",
        "2026-07-13,8.0,open,,wet",
        "2026-07-13,8.0,open,,",
        "2026-07-13,٨,open",
    ]
    text = "\n".join(["date,rain_mm,place", *rows, ""])
    assert faults_of(import_csv, ledger, "gauge", text, known=KNOWN) == [
        "row 11: 2 cells; must have 3, as the heading",
        "row 12: 5 cells; must have 3, as the heading",
        'row 3, column date: "2026-02-30"; must be a day of the calendar',
        'row 4, column date: "13/07/2026"; must be a date such as 2026-07-13, year first',
        'row 5, column rain_mm: "8,0"; must be a number such as 12.5, with a point before the decimals',
        'row 6, column rain_mm: "1_000"; must be a number such as 12.5 and nothing else',
        'row 7, column rain_mm: "nan"; must be a number such as 12.5 and nothing else',
        "row 8, column rain_mm: -8.0; must be a number from 0 to 500",
        'row 8, column place: "shed"; must be open or canopy',
        "row 9, column rain_mm: empty; needs a number from 0 to 500",
        "row 10, column date: empty; needs a date such as 2026-07-13, in the years 1900 to 2199",
        'row 14, column rain_mm: "٨"; must be a number such as 12.5 and nothing else',
    ]
    assert ledger.last_entries(1) == ()


@pytest.mark.parametrize(
    ("table", "text", "faults"),
    [
        ("gauge", "", ["row 1: empty; must name the columns"]),
        ("gauge", "date,rain\n", ['unknown column "rain"; did you mean "rain_mm"?', 'no column "rain_mm"']),
        ("gauge", "date,date,rain_mm\n", ['column "date" twice']),
        ("gauge", "date,rain_mm,withdrawn\n2026-07-13,8,1\n", ['unknown column "withdrawn"']),
        ("gauge", 'date,rain_mm\n"2026-07-13,8\n', ["line 2: unexpected end of data"]),
        ("dig", "date,bed,finding\n2026-07-13,low bad,wet\n", ['column bed: "low bad", not in the plan']),
        ("run", "date,status,zone\n2026-07-13,ran,west\n", ['column zone: "west", not in the plan; must']),
        ("run", "date,status,minutes\n2026-07-13,skipped,3\n", ["row 2, column minutes: 3.0 for a run"]),
        ("valve", "at,bed,state\n2026-07-13,low bed,open\n", ["column at"]),
        ("valve", "at,bed,state\n2026-07-13T25:00Z,low bed,open\n", ["and a time of that day"]),
        ("valve", "at,bed,state\n0001-01-01T00:00+14:00,low bed,open\n", ["in the years 1900"]),
        ("gauge", "date,rain_mm,recorded_at\n2026-07-13,8,0001-01-01T00:00+14:00\n", ["column recorded_at"]),
        ("bill", f"{BILL}2026-07-01,2026-07-31,1 m3,m3,\"4,10\",EUR\n", ["column units", "column amount"]),
        ("weather_day", "date\n", ['table: "weather_day"; must be one of run']),
    ],
)  # fmt: skip
def test_faults_of_spreadsheets(ledger, table, text, faults):
    found = faults_of(import_csv, ledger, table, text, known=PLAN)
    assert len(found) == len(faults)
    assert [want for want, have in zip(faults, found, strict=True) if want not in have] == []


@pytest.mark.parametrize(
    ("tables", "fault"),
    [
        ({"weather_day": []}, "weather_day: is no table of a person's entries"),
        (
            {"gauge": [{"date": "2026-07-13", "rain_mm": "8"}]},
            'gauge, row 1, column rain_mm: "8"; must be a number',
        ),
        ({"gauge": [{"date": "2026-07-13", "rain_mm": True}]}, "column rain_mm: True; must be a number"),
        ({"gauge": [{"date": 20260713, "rain_mm": 8}]}, "column date: 20260713; must be text"),
        ({"gauge": [{"date": "2026-07-13", "rain_mm": 8}, 7]}, "gauge, row 2: no object"),
        ({"gauge": [{"date": "2026-07-13", "rain_mm": 8, "withdrawn": 1}]}, 'unknown column "withdrawn"'),
        ({"bill": [{"first_day": "2026-07-01", "units": 4.1}]}, 'bill, columns: no column "last_day"'),
        ([], "another kind of JSON"),
    ],
)
def test_faults_of_json(ledger, tables, fault):
    text = json.dumps({"schema": "rillbook.ledger/1", "tables": tables})
    assert fault in "\n".join(faults_of(import_json, ledger, text, known=KNOWN))
    assert ledger.last_entries(1) == ()


@pytest.mark.parametrize("text", ["", "{", "[" * 100_000, "[NaN]", "1" * 5000, '"text"'])
def test_what_is_no_export_is_told(ledger, text):
    for function in (lambda: import_json(ledger, text, known=KNOWN), lambda: restore_json(ledger, text)):
        assert len(faults_of(function)) == 1


def test_one_bad_table_keeps_the_others_out(ledger):
    tables = {
        "gauge": [{"date": "2026-07-13", "rain_mm": 8}],
        "dig": [{"date": "2026-07-13", "bed": "low bed"}],
    }
    text = json.dumps({"schema": "rillbook.ledger/1", "tables": tables})
    assert faults_of(import_json, ledger, text, known=PLAN) == [
        'dig, columns: no column "finding"; is needed'
    ]
    assert ledger.last_entries(1) == ()


_cells = st.one_of(
    st.text(max_size=8),
    st.sampled_from(
        ["2026-07-13", "8", "-1", "1e999", "ran", "wet", "meter", "2026-07-13 02:30", "low bed", '"']
    ),
)
_raw_values = st.one_of(_cells, st.none(), st.booleans(), st.integers(), st.floats(), st.lists(st.integers()))


@settings(max_examples=150, deadline=None)
@given(table=st.sampled_from(BY_HAND), data=st.data())
def test_any_file_is_read_or_refused(tmp_path_factory, table, data):
    columns = [column.name for column in TABLES[table].columns] + ["recorded_at"]
    lines = data.draw(st.lists(st.lists(_cells, min_size=len(columns), max_size=len(columns)), max_size=3))
    rows = data.draw(st.lists(st.dictionaries(st.sampled_from(columns), _raw_values), max_size=3))
    text = "\n".join(",".join(cells) for cells in [columns, *lines])
    document = json.dumps({"schema": "rillbook.ledger/1", "tables": {table: rows}})
    with Ledger.open(tmp_path_factory.getbasetemp() / "fuzz.sqlite") as ledger:
        for read in (
            lambda: import_csv(ledger, table, text, known=PLAN),
            lambda: import_json(ledger, document, known=PLAN),
        ):
            before = len(ledger.rows(TABLES[table]))
            try:
                added = read().added
            except LedgerError:
                added = 0
            assert len(ledger.rows(TABLES[table])) == before + added


def test_a_bill_keeps_its_digits(ledger):
    import_csv(ledger, "bill", f"{BILL}2026-07-01,2026-07-31,12.50,m3,-48.10,EUR\n", known=KNOWN)
    (kept,) = ledger.bills()
    assert isinstance(kept.entry, Bill)
    assert (str(kept.entry.units), str(kept.entry.amount)) == ("12.50", "-48.10")
    assert "12.50,m3,-48.10" in export_csv(ledger, "bill")
