"""Notices reach everybody in the end: what fails waits, and does not hold up the others."""

import json
from datetime import timedelta

import pytest

from scheduler.errors import RillbookError
from scheduler.service import day as day_module
from scheduler.service.outbox import Letter, add_letters, outbox_path, read_outbox, write_outbox
from tests.service.conftest import MONDAY
from tests.service.receivers import mail_server, web_server

FILE = '[[notify]]\nkind = "file"\nfile = "notices.txt"'
SECRET = "s3cret-of-the-shed"


def email(port):
    return "\n".join(
        [
            "[[notify]]",
            'kind = "email"',
            'host = "127.0.0.1"',
            f"port = {port}",
            'from = "shed@example.org"',
            'to = ["gardener@example.org"]',
            'user = "gardener"',
            'password_env = "GARDEN_SECRET"',
            "tls = false",
        ]
    )


def webhook(url):
    return f'[[notify]]\nkind = "webhook"\nurl = "{url}/hook"\ntoken_env = "GARDEN_SECRET"'


@pytest.fixture(autouse=True)
def _secret(monkeypatch):
    monkeypatch.setenv("GARDEN_SECRET", SECRET)


def notices(place):
    path = place.folder / "notices.txt"
    return path.read_text(encoding="utf-8").splitlines() if path.exists() else []


def test_everybody_is_told_once(place):
    with mail_server(password=SECRET) as (port, mails), web_server() as (url, taken):
        place.write(FILE, email(port), webhook(url))
        report = place.day(MONDAY)
        place.day(MONDAY, hour=16)
        place.day(MONDAY + timedelta(days=1))
    assert report.problems == ()
    assert report.told == ("file notices.txt", "email gardener@example.org", "webhook 127.0.0.1")
    assert (len(notices(place)), len(mails), len(taken)) == (1, 1, 1)
    assert read_outbox(outbox_path(place.ledger)) == ((), ())


def test_failure_is_told_and_tried_again(place, dead_port):
    place.write(email(dead_port), FILE)
    report = place.day(MONDAY)
    assert report.told == ("file notices.txt",)
    (problem,) = report.problems
    assert "cannot be reached" in problem
    assert "tried again at the next run" in problem
    assert len(read_outbox(outbox_path(place.ledger))[0]) == 1
    with web_server() as (url, taken):
        # The receiver that was told is not told again; a new one in the plan only hears what is new.
        place.write(email(dead_port), FILE, webhook(url))
        again = place.day(MONDAY + timedelta(days=1))
        assert len(again.problems) == 1
        assert taken == []
    assert len(notices(place)) == 1


def test_what_waited_arrives(place):
    with mail_server(password="another") as (port, mails):
        place.write(email(port))
        assert len(place.day(MONDAY).problems) == 1
        assert mails == []
    with mail_server(password=SECRET) as (port, mails):
        # Same receiver, another door; then nothing is left to tell.
        place.write(email(port))
        before = place.count()["timetable"]
        report = place.day(MONDAY + timedelta(days=1))
        assert report.told == ("email gardener@example.org",)
        assert place.day(MONDAY + timedelta(days=2)).told == ()
        assert place.count()["timetable"] == before + 2
    assert len(mails) == 1


def test_same_day_retry_records_nothing(place):
    with web_server(status=500) as (url, _):
        place.write(webhook(url))
        assert len(place.day(MONDAY).problems) == 1
        before = place.count()
        assert len(place.day(MONDAY, hour=16).problems) == 1
        assert place.count() == before


def test_receiver_that_left_the_plan_is_forgotten(place):
    with web_server(status=500) as (url, _):
        place.write(webhook(url), FILE)
        place.day(MONDAY)
    place.write(FILE)
    assert place.day(MONDAY + timedelta(days=1)).problems == ()
    assert read_outbox(outbox_path(place.ledger)) == ((), ())


def test_no_secret_in_any_file_of_the_garden(place):
    with mail_server(password="another") as (port, _), web_server(status=500) as (url, _taken):
        place.write(email(port), webhook(url), FILE)
        report = place.day(MONDAY)
    assert SECRET not in repr(report)
    files = [path for path in place.folder.iterdir() if path.is_file()]
    assert len(files) >= 3
    assert all(SECRET.encode() not in path.read_bytes() for path in files)


def test_notice_survives_a_stop_before_delivery(place, monkeypatch):
    place.write(FILE)

    def stopped(*_arguments, **_more):
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(day_module, "deliver", stopped)
        with pytest.raises(KeyboardInterrupt):
            place.day(MONDAY)
    assert len(place.tables()) == 1
    assert notices(place) == []
    report = place.day(MONDAY, hour=5)
    assert not report.recorded
    assert report.told == ("file notices.txt",)
    assert len(notices(place)) == 1


def test_table_that_could_not_be_recorded_does_not_double_its_notice(place, monkeypatch):
    from scheduler.ledger.store import Ledger

    place.write(FILE)

    def full(*_arguments, **_more):
        raise RillbookError("the disk is full")

    with monkeypatch.context() as patch:
        patch.setattr(Ledger, "record_timetable_run", full)
        with pytest.raises(RillbookError):
            place.day(MONDAY)
    assert place.tables() == ()
    assert place.count()["plan_version"] == 0
    place.day(MONDAY, hour=5)
    assert len(notices(place)) == 1


def test_broken_outbox_is_told_and_replaced(place):
    place.write(FILE)
    path = outbox_path(place.ledger)
    path.write_text("{", encoding="utf-8")
    report = place.day(MONDAY)
    assert any("cannot be read" in problem for problem in report.problems)
    assert len(notices(place)) == 1
    assert place.day(MONDAY, hour=5).problems == ()


def test_outbox_round_trip(tmp_path):
    path = tmp_path / "outbox.json"
    letters = (Letter("file ä", "setting", "k", 'text with "quotes"'), Letter("b", "reading", "k", "t"))
    write_outbox(path, letters)
    assert read_outbox(path) == (letters, ())
    assert json.loads(path.read_text(encoding="utf-8"))["schema"] == "rillbook.outbox/1"
    assert add_letters(letters, letters) == letters
