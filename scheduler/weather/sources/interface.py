"""One way to ask for daily weather, whatever the source."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from scheduler.errors import Fault, RillbookError
from scheduler.garden.plan import Site
from scheduler.weather.record import WeatherRecord
from scheduler.weather.sources import ghcn, nws, open_meteo
from scheduler.weather.sources.choices import (
    FetchedWeather,
    GhcnOptions,
    NwsOptions,
    OpenMeteoOptions,
    SourceChoice,
    SourceKind,
    StationOptions,
)
from scheduler.weather.sources.daily_table import cut, joined
from scheduler.weather.sources.station_csv import read_station_csv

if TYPE_CHECKING:
    from scheduler.weather.sources.session import Fetched, Session

__all__ = ["fetch_daily"]

_JSON = ("application/json", "application/geo+json", "application/ld+json")
# Plain files are sent under many names.
_FILE = ("text/plain", "text/csv", "application/octet-stream", "binary/octet-stream")


def fetch_daily(
    choice: SourceChoice, site: Site, *, begins: date, ends: date, session: Session
) -> FetchedWeather:
    """Return the days from `begins` to `ends` that a source has.

    Parameters
    ----------
    choice : SourceChoice
    site : Site
    begins, ends : date
        First and last day wanted. The record may have fewer; it never has others.
    session : Session

    Raises
    ------
    SourceError
        If the source cannot be asked and nothing is stored, if its answer cannot be used, or if it has
        none of the days.
    WeatherError
        If a station's file cannot be used.
    RillbookError
        If kind and options do not go together, or the days are not in order.
    """
    expected, fetch = _SOURCES[choice.kind]
    if not isinstance(choice.options, expected):
        found = f"options of {type(choice.options).__name__}"
        raise RillbookError(str(Fault(choice.kind, found, f"options of {expected.__name__}")))
    if begins > ends:
        raise RillbookError(str(Fault("days", f"{begins} to {ends}", "a first and a last day in order")))
    fetched = fetch(choice.options, site, begins=begins, ends=ends, session=session)
    return replace(fetched, record=cut(fetched.record, begins=begins, ends=ends))


def _from_open_meteo(
    options: OpenMeteoOptions, site: Site, *, begins: date, ends: date, session: Session
) -> FetchedWeather:
    """Return the forecast, or the archive's days, each span of them under its own address."""
    forecast = options.product == "forecast"

    def parse(text: str) -> WeatherRecord:
        return open_meteo.parse_open_meteo(text, site=site, forecast=forecast)

    if forecast:
        url = open_meteo.request_url(site, "forecast", base=options.base, past_days=options.past_days)
        answers = dated = [session.get_text(url, kind="forecast", accept=_JSON, check=parse)]
    else:
        on = session.moment().astimezone(ZoneInfo(site.timezone)).date()
        spans = open_meteo.archive_spans(begins, ends, on=on)
        answers = [
            session.get_text(
                open_meteo.request_url(site, "archive", base=options.base, begins=first, ends=last),
                kind="archive" if settled else "recent days",
                accept=_JSON,
                check=parse,
            )
            for first, last, settled in spans
        ]
        # What has settled does not age.
        dated = [answer for answer, (*_, settled) in zip(answers, spans, strict=True) if not settled]
    told = _told(
        joined([parse(answer.text) for answer in answers]),
        dated or answers,
        licence=open_meteo.LICENCE,
        credit=open_meteo.ATTRIBUTION,
        wind=open_meteo.WIND_HEIGHT,
    )
    return replace(told, stale=any(answer.stale for answer in answers))


def _from_nws(
    options: NwsOptions, site: Site, *, begins: date, ends: date, session: Session
) -> FetchedWeather:
    """Return the forecast of the grid cell that the garden lies in."""

    def parse(text: str) -> WeatherRecord:
        return nws.parse_gridpoint(text, timezone=site.timezone)

    point = session.get_text(
        nws.point_url(site, base=options.base), kind="mapping", accept=_JSON, check=nws.parse_point
    )
    url = nws.grid_url(nws.parse_point(point.text), base=options.base)
    answer = session.get_text(url, kind="forecast", accept=_JSON, check=parse)
    told = _told(
        parse(answer.text), [answer], licence=nws.LICENCE, credit=nws.ATTRIBUTION, wind=nws.WIND_HEIGHT
    )
    return replace(told, issued_at=nws.issued_at(answer.text))


def _from_ghcn(
    options: GhcnOptions, site: Site, *, begins: date, ends: date, session: Session
) -> FetchedWeather:
    """Return the observations of a station."""

    def parse(text: str) -> WeatherRecord:
        return ghcn.parse_ghcn(text, station=options.station)

    url = ghcn.request_url(options.station, base=options.base)
    answer = session.get_text(url, kind="station", accept=_FILE, check=parse)
    return _told(parse(answer.text), [answer], licence=ghcn.LICENCE, credit=ghcn.ATTRIBUTION, wind=None)


def _from_station_file(
    options: StationOptions, site: Site, *, begins: date, ends: date, session: Session
) -> FetchedWeather:
    """Return the days of a station's own file; the session only tells the time."""
    record, changed = read_station_csv(options.file, options.layout, timezone=site.timezone)
    return FetchedWeather(
        record=record,
        fetched_at=changed,
        age=max(session.moment() - changed, timedelta(0)),
        attribution=record.attribution,
        licence="",
        wind_height=options.wind_height,
    )


def _told(
    record: WeatherRecord, answers: Sequence[Fetched], *, licence: str, credit: str, wind: float | None
) -> FetchedWeather:
    """Return a record with the age of its oldest part, and with what the session had to say."""
    oldest = min(answers, key=lambda answer: answer.fetched_at)
    age = timedelta(seconds=oldest.age_seconds)
    stale = any(answer.stale for answer in answers)
    notes = [note for answer in answers for note in answer.notes]
    if stale:
        notes.append(
            f"stored since {oldest.fetched_at:%Y-%m-%d %H:%M} UTC, {age.total_seconds() / 3600:.1f} h ago"
        )
    return FetchedWeather(
        record=replace(record, notes=tuple(dict.fromkeys((*record.notes, *notes)))),
        fetched_at=oldest.fetched_at,
        age=age,
        attribution=credit,
        licence=licence,
        stale=stale,
        wind_height=wind,
    )


_Fetch = Callable[..., FetchedWeather]
_SOURCES: dict[SourceKind, tuple[type[Any], _Fetch]] = {
    "open-meteo": (OpenMeteoOptions, _from_open_meteo),
    "nws": (NwsOptions, _from_nws),
    "ghcn-daily": (GhcnOptions, _from_ghcn),
    "station csv": (StationOptions, _from_station_file),
}
