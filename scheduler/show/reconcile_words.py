"""What readings say, as sentences for a gardener."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import datetime

from scheduler.garden.dimensions import System
from scheduler.garden.units import format_quantity
from scheduler.reconcile.bed_flow import FlowCheck, blocked_emitters
from scheduler.reconcile.bed_series import BedDrift, BedSeries
from scheduler.reconcile.causes import YOUNG_BASELINE
from scheduler.reconcile.chances import normal_quantile
from scheduler.reconcile.diagnose import Finding
from scheduler.reconcile.overview import Overview, Round
from scheduler.reconcile.register import OddReading
from scheduler.reconcile.water_use import WaterCheck
from scheduler.show.notes import day_text, percent

__all__ = ["emitters_text", "moment", "odd_words", "sentences", "since_relaid", "volume"]

#: What an odd reading is, and what to do.
_ODD = {
    "beyond the register": ("more than the register of the plan can show", "capacity under [meter]"),
    "goes back": ("the register goes back", "both numbers and their order"),
    "too much": ("more water than a meter lets through in that time", "both numbers and their unit"),
    "two at once": ("two numbers at one time", "both numbers and their times"),
}


def moment(at: datetime) -> str:
    """Return a date and time for people and machines alike."""
    return f"{at:%Y-%m-%d %H:%M}"


def volume(litres: float, system: System) -> str:
    """Return a volume for people."""
    return format_quantity(litres, "volume", system)


def since_relaid(series: BedSeries) -> str:
    """Return since when a bed's tests count, to be put behind what they are compared with; may be empty."""
    return "" if series.relaid is None else f" since the line was relaid on {series.relaid.date()}"


def emitters_text(check: FlowCheck) -> str:
    """Return how many emitters' flow is missing, with its range; empty where nothing is known to be."""
    if check.verdict != "lower":
        return ""
    blocked = check.blocked
    return f"{blocked.estimate:.0f} of {check.emitters} ({blocked.low:.0f} to {blocked.high:.0f})"


def odd_words(odd: OddReading) -> tuple[str, str]:
    """Return what is odd about a reading, and what to check."""
    found, wanted = _ODD[odd.why]
    beside = "" if odd.other is None else f", beside the reading of {moment(odd.other.at)}"
    return f"{found}{beside}", f"check {wanted}"


def sentences(found: Overview, system: System) -> tuple[str, ...]:
    """Return the verdict and what it rests on, the most important first."""
    findings = [finding for one in found.rounds for finding in one.diagnosis.findings]
    changed = {bed for finding in findings for bed in finding.beds}
    since = {series.bed: since_relaid(series) for series in found.beds}
    return (
        _verdict(found),
        *(line for one in found.rounds for line in _round_lines(one, since, system)),
        *(
            line
            for drift in found.drifts
            if drift.bed not in changed
            for line in _drift_lines(drift, since.get(drift.bed, ""))
        ),
        *_leak_lines(found, system),
        *(_water_line(check, system) for check in found.water[-1:]),
        *_reading_lines(found, system),
    )


def _verdict(found: Overview) -> str:
    if found.wrong:
        return f"Something looks wrong: {', '.join(_WRONG[name] for name in found.wrong)}."
    if found.rounds or found.leak or any(check.verdict == "fits" for check in found.water[-1:]):
        return "Nothing looks wrong in what is recorded."
    return "Too little is recorded to tell whether anything is wrong."


_WRONG = {
    "flow": "the flow of beds",
    "drift": "the drift of a bed",
    "leak": "water lost while nothing ran",
    "water": "the water of the whole garden",
    "reading": "a reading of the meter",
}


def _round_lines(one: Round, since: Mapping[str, str], system: System) -> Iterator[str]:
    """Yield what a round of tests says."""
    by_name = {check.bed: check for check in one.checks}
    diagnosis = one.diagnosis
    if diagnosis.kind == "nothing seen":
        yield _quiet_round(one)
    elif not diagnosis.findings:
        yield f"Tests of {day_text(one.ends.date())}: what changed is in other beds."
    common = diagnosis.kind in {"global", "mixed"}
    for finding in diagnosis.findings:
        if len(finding.beds) > 1:
            yield _common_sentence(finding, diagnosis.same_amount, len(one.checks), system)
        else:
            check = by_name[finding.beds[0]]
            yield _bed_sentence(check, finding, beside=common, since=since.get(check.bed, ""))
    if diagnosis.kind == "cannot tell":
        yield (
            "Only this bed was tested, so it may be the bed or the whole garden: "
            "test a second bed, and the two can be told apart."
        )
    elif diagnosis.kind == "local" and diagnosis.findings:
        rest = len(diagnosis.findings) < len(one.checks)
        alike = "Other beds of the round show no change" if rest else "The beds did not change alike"
        yield f"{alike}, so the cause is in the bed itself."


def _quiet_round(one: Round) -> str:
    """Return what a round without a change would have shown."""
    evidence = one.diagnosis.evidence
    when = day_text(one.ends.date())
    single = (
        "" if evidence.detectable_bed is None else f", or of one bed by {percent(evidence.detectable_bed)},"
    )
    alone = [check.bed for check in one.checks if check.verdict != "no change seen"]
    beds = "1 bed" if len(one.checks) == 1 else f"{len(one.checks)} beds"
    line = (
        f"Tests of {when}, {beds}: no change seen. A change of all by {percent(evidence.detectable_common)}"
        f"{single} would have shown in {percent(evidence.power)} of cases."
    )
    if alone:
        line += (
            f" By itself {', '.join(alone)} lies beyond its limit, which one sound bed in 20 does by chance; "
            "test it again."
        )
    return line


def _size(change: float) -> str:
    return f"{percent(abs(change))} {'less' if change < 0.0 else 'more'}"


def _expected(check: FlowCheck) -> str:
    printed = any("printed flow" in note for note in check.notes)
    return "its printed flow" if printed else "its own baseline"


def _bed_sentence(check: FlowCheck, finding: Finding, *, beside: bool, since: str) -> str:
    """Return what one bed gives; beside a change of all beds, what it has on top."""
    what = f"{check.bed} gives {_size(finding.change)}"
    line = f"{what} than {_expected(check)}{since}"
    if finding.causes[0] is YOUNG_BASELINE:
        return f"{check.bed} shows no change{since}: {YOUNG_BASELINE.name}. {YOUNG_BASELINE.look}"
    if beside:
        line = f"{what} again, beside that" + (f", going by {_expected(check)}{since}" if since else "")
    if finding.change < 0.0:
        blocked = blocked_emitters(
            finding.change, finding.uncertainty, emitters=check.emitters, confidence=check.confidence
        )
        span = f"({blocked.low:.0f} to {blocked.high:.0f})"
        count = f"about {blocked.estimate:.0f} of {check.emitters} emitters"
        if finding.causes[0].name == "blocked emitters":
            return f"{line}: {count} blocked {span}."
        return f"{line}: as much as {count} give {span}; first cause to look at: {finding.causes[0].name}."
    return f"{line}; first cause to look at: {finding.causes[0].name}."


def _common_sentence(finding: Finding, amount: float | None, beds: int, system: System) -> str:
    """Return what all beds of a round have in common."""
    who = "Both beds" if len(finding.beds) == 2 == beds else f"{len(finding.beds)} of {beds} beds"
    who = f"All {beds} beds" if len(finding.beds) == beds > 2 else who
    first = finding.causes[0].name
    if amount is not None:
        more = format_quantity(amount, "flow", system)
        return (
            f"{who} took the same {more} more than expected, water that passes none of their emitters; "
            f"first cause to look at: {first}."
        )
    within = percent(normal_quantile(0.975) * finding.uncertainty)
    return (
        f"{who} give alike {_size(finding.change)} than expected (give or take {within}), so the cause is "
        f"where all their water passes; first cause to look at: {first}."
    )


def _drift_lines(drift: BedDrift, since: str) -> Iterator[str]:
    """Yield what a standing alarm says."""
    if drift.alarm is not None and drift.alarm.standing:
        begins = day_text(drift.alarm.since.date())
        yield (
            f"{drift.bed} has drifted: from about {begins} on it gives {_size(drift.alarm.shift)} than its "
            f"own baseline{since}, over {drift.tests} tests."
        )


def _leak_lines(found: Overview, system: System) -> Iterator[str]:
    """Yield what the test without watering says."""
    if found.leak is None:
        return
    for segment in found.leak.segments:
        if segment.verdict == "leak":
            yield (
                f"{volume(segment.loss, system)} a day pass while nothing runs, {segment.where} "
                f"(beyond {volume(segment.limit, system)} it is called a leak, if the house used no water)."
            )
    if not found.leak.first_look:
        least = max(segment.detectable for segment in found.leak.segments)
        yield f"No leak seen while nothing ran; {volume(least, system)} a day would have shown."


def _water_line(check: WaterCheck, system: System) -> str:
    """Return what the newest span of the whole garden says."""
    span = check.span.metered
    dates = f"From {day_text(span.begins.date())} to {day_text(span.ends.date())}"
    house = "" if check.house is None else f" and the house for {volume(check.house, system)}"
    line = (
        f"{dates} {volume(span.volume, system)} passed; runs stand for {volume(check.runs, system)}{house}: "
    )
    if check.verdict == "cannot tell":
        why = (
            "the house's use is not in the plan" if check.house is None else "not every day's runs are known"
        )
        return f"{line}whether that fits cannot be told, since {why}."
    if check.verdict == "fits":
        return f"{line}it fits within {volume(check.limit, system)}."
    doubt = f"; or the house used {check.verdict} than the plan states" if check.house else ""
    return (
        f"{line}{volume(abs(check.rest), system)} {check.verdict} than explained, beyond the "
        f"{volume(check.limit, system)} that it may be off{doubt}."
    )


def _reading_lines(found: Overview, system: System) -> Iterator[str]:
    """Yield odd readings, and rollovers."""
    for odd in found.odd:
        what, wanted = odd_words(odd)
        written = found.inputs.written[odd.number]
        yield f'The reading "{written}" of {moment(odd.reading.at)} is left out: {what}; {wanted}.'
    for step in found.rollovers:
        yield (
            f"The register passed zero between {moment(step.begins)} and {moment(step.ends)}: "
            f"{volume(step.volume, system)} are counted."
        )
