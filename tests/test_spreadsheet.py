"""Texts in CSV are never formulas, and come back as they were; numbers stay numbers."""

import csv
import io
import re
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from scheduler.ledger.entries import Bill, Dig
from scheduler.ledger.exchange import export_csv, export_json, import_csv, import_json
from scheduler.ledger.sheetrows import Known
from scheduler.ledger.store import Ledger
from scheduler.show.report import Column, Part, Report, render_csv
from scheduler.spreadsheet import csv_text, guarded, unguarded
from tests.ledger.samples import DAY, NOW

STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d")
TEXTS = st.one_of(
    st.text(),
    st.tuples(st.sampled_from(["", "'", "''"]), st.sampled_from(STARTS), st.text()).map("".join),
)


def read(text):
    return list(csv.reader(io.StringIO(text, newline=""), strict=True))


def report(rows):
    columns = tuple(Column(key, key) for key in rows[0])
    return Report("rillbook.test/1", "t", None, (Part("rows", "", columns, tuple(rows)),))


@given(TEXTS)
@example("'=1")
@example("'")
@example("-3.10")
@example("'-3.10")
@example("-3.10\n")
@example("")
def test_guard_comes_off_again_and_no_formula_is_left(text):
    written = guarded(text)
    assert unguarded(written) == text
    assert not written.startswith(STARTS) or re.fullmatch("[+-][0-9]+([.][0-9]+)?", written)


@given(TEXTS, TEXTS)
def test_different_texts_stay_different(one, other):
    assert (guarded(one) == guarded(other)) == (one == other)


@pytest.mark.parametrize("text", ["tall bed", "'Brien's bed", "2-3", "a=b", "''"])
def test_plain_text_is_left_alone(text):
    assert guarded(text) == unguarded(text) == text


@given(st.lists(st.tuples(st.text(), st.none() | st.floats(allow_nan=False)), max_size=5))
def test_csv_holds_any_text(rows):
    text = csv_text(("a", "b"), [{"a": first, "b": second} for first, second in rows])
    assert read(text)[1:] == [[a, "" if b is None else repr(b)] for a, b in rows]


def test_listing_guards_texts_alone():
    row = {
        "bed": '=HYPERLINK("x")',
        "change": -2.5,
        "count": -3,
        "cost": Decimal("-1.20"),
        "on": date(2026, 7, 13),
        "days": ("+Mon", "Tue"),
        "none": None,
    }
    _, cells = read(render_csv(report([row])))
    assert cells == ['\'=HYPERLINK("x")', "-2.5", "-3", "-1.20", "2026-07-13", "'+Mon Tue", ""]


def test_ledger_guards_texts_alone(tmp_path):
    bill = Bill(DAY, DAY, Decimal("1"), "m3", Decimal("-48.10"), "-EUR")
    with Ledger.open(tmp_path / "a.sqlite") as ledger:
        ledger.record_bill(bill, recorded_at=NOW)
        text = export_csv(ledger, "bill")
    assert text.splitlines()[1].endswith(",1,m3,-48.10,'-EUR")
    with Ledger.open(tmp_path / "b.sqlite") as other:
        import_csv(other, "bill", text, known=Known(NOW))
        assert other.bills()[0].entry == bill


@pytest.mark.parametrize("bed", ["=2+5", "'=2+5", "@low", "-", "+1", "'Brien", "\uff1dx"])
def test_beds_come_back_by_their_names(tmp_path, bed):
    known = Known(NOW, beds=(bed,))
    with Ledger.open(tmp_path / "a.sqlite") as ledger:
        ledger.record_dig(Dig(DAY, bed, "wet"), recorded_at=NOW)
        table, document = export_csv(ledger, "dig"), export_json(ledger, tables=["dig"])
    with Ledger.open(tmp_path / "b.sqlite") as by_csv, Ledger.open(tmp_path / "c.sqlite") as by_json:
        assert import_csv(by_csv, "dig", table, known=known).added == 1
        # JSON has no formulas, and no guard that could come off.
        assert import_json(by_json, document, known=known).added == 1
        for ledger in (by_csv, by_json):
            assert ledger.digs_between(DAY, DAY)[0].entry.bed == bed
