"""Tables of the comparison of readings with what was expected: columns and rows."""

from __future__ import annotations

from scheduler.reconcile.overview import Overview
from scheduler.show.reconcile_words import emitters_text, moment, odd_words
from scheduler.show.report import Column, Part, Row

__all__ = ["reconcile_parts"]

BEDS = (
    Column("bed", "bed"),
    Column("tested_on", "tested", day=True),
    Column("tested_at", ""),
    Column("method", ""),
    Column("flow_l_h", "flow", "flow"),
    Column("baseline_l_h", "expected", "flow"),
    Column("baseline_from", "going by"),
    Column("change_percent", "change\n[%]", decimals=0),
    Column("limit_percent", ""),
    Column("detectable_percent", "would\nshow\n[%]", decimals=0),
    Column("detectable_l_h", ""),
    Column("detectable_emitters", ""),
    Column("verdict", "verdict"),
    Column("emitters", ""),
    Column("blocked_emitters", ""),
    Column("blocked_emitters_least", ""),
    Column("blocked_emitters_most", ""),
    Column("blocked", "emitters\nmissing"),
    Column("tests", ""),
    Column("relaid_on", ""),
    Column("tests_before_relaid", ""),
)
ROUNDS = (
    Column("begins", ""),
    Column("ends", ""),
    Column("beds", ""),
    Column("kind", ""),
    Column("mean_change_percent", ""),
    Column("mean_uncertainty_percent", ""),
    Column("heterogeneity", ""),
    Column("heterogeneity_limit", ""),
    Column("same_amount_l_h", ""),
    Column("detectable_common_percent", ""),
    Column("detectable_bed_percent", ""),
    Column("false_alarm_percent", ""),
    Column("power_percent", ""),
)
CAUSES = (
    Column("concerns", "concerns"),
    Column("order", "", decimals=0),
    Column("beds", ""),
    Column("change_percent", ""),
    Column("cause", "may be"),
    Column("look", "how to tell"),
)
DRIFT = (
    Column("bed", "bed"),
    Column("tests", "tests"),
    Column("verdict", "drift"),
    Column("since", "since"),
    Column("noticed", ""),
    Column("shift_percent", "change\n[%]", decimals=0),
    Column("upper_sum", "sum\nupwards", decimals=1),
    Column("lower_sum", "sum\ndownwards", decimals=1),
    Column("limit", "limit", decimals=1),
)
LEAK = (
    Column("where", "where"),
    Column("loss_l_per_day", "passes\na day", "volume"),
    Column("limit_l_per_day", "limit", "volume"),
    Column("detectable_l_per_day", "would\nshow", "volume"),
    Column("verdict", "verdict"),
)
WATER = (
    Column("begins", "from"),
    Column("ends", "to"),
    Column("metered_l", "metered", "volume"),
    Column("runs_l", "runs", "volume"),
    Column("house_l", "house", "volume"),
    Column("rest_l", "rest", "volume"),
    Column("limit_l", "limit", "volume"),
    Column("detectable_l", ""),
    Column("days_recorded", ""),
    Column("days_advised", ""),
    Column("days_unknown", ""),
    Column("verdict", "verdict"),
)
READINGS = (
    Column("at", "reading"),
    Column("written", "written"),
    Column("volume_l", ""),
    Column("why", ""),
    Column("found", "found"),
    Column("wanted", "to do"),
)


def reconcile_parts(found: Overview) -> tuple[Part, ...]:
    """Return every table but the lines to record next; the first is that of the beds."""
    return (
        Part("rows", "Flow of the beds", BEDS, tuple(_bed_rows(found)), machine_only=not found.rounds),
        Part("rounds", "", ROUNDS, tuple(_round_rows(found)), machine_only=True),
        Part("causes", "Where to look, in this order", CAUSES, tuple(_cause_rows(found)), group="concerns"),
        Part("drift", "Drift over the tests so far", DRIFT, tuple(_drift_rows(found))),
        Part("leak", "While nothing ran", LEAK, tuple(_leak_rows(found))),
        Part("water", "The whole garden", WATER, tuple(_water_rows(found))),
        Part("readings", "Readings left out", READINGS, tuple(_reading_rows(found))),
    )


def _in_percent(share: float | None) -> float | None:
    return None if share is None else 100.0 * share


def _bed_rows(found: Overview) -> list[Row]:
    rows: list[Row] = []
    for bed in found.beds:
        row: Row = {"bed": bed.bed, "tests": len(bed.tests), "verdict": "not tested", "blocked": ""}
        row["emitters"] = found.inputs.beds[bed.bed][0].emitters
        row["baseline_l_h"] = bed.baseline.flow
        count = bed.baseline.tests
        row["baseline_from"] = f"{count} tests" if count else "print"
        row["relaid_on"] = None if bed.relaid is None else bed.relaid.date()
        row["tests_before_relaid"] = bed.earlier
        if (check := bed.check) is not None:
            lower = check.verdict == "lower"
            row |= {
                "tested_on": bed.tests[-1].at.date(),
                "tested_at": moment(bed.tests[-1].at),
                "method": bed.tests[-1].test.method,
                "flow_l_h": check.flow,
                "change_percent": _in_percent(check.change),
                "limit_percent": _in_percent(check.limit),
                "detectable_percent": _in_percent(check.detectable),
                "detectable_l_h": check.detectable_flow,
                "detectable_emitters": check.detectable_emitters,
                "verdict": check.verdict,
                "blocked_emitters": check.blocked.estimate if lower else None,
                "blocked_emitters_least": check.blocked.low if lower else None,
                "blocked_emitters_most": check.blocked.high if lower else None,
                "blocked": emitters_text(check),
            }
        rows.append(row)
    return rows


def _round_rows(found: Overview) -> list[Row]:
    return [
        {
            "begins": moment(one.begins),
            "ends": moment(one.ends),
            "beds": [check.bed for check in one.checks],
            "kind": one.diagnosis.kind,
            "mean_change_percent": _in_percent(one.diagnosis.evidence.common.mean),
            "mean_uncertainty_percent": _in_percent(one.diagnosis.evidence.common.uncertainty),
            "heterogeneity": one.diagnosis.evidence.common.heterogeneity,
            "heterogeneity_limit": one.diagnosis.evidence.heterogeneity_limit,
            "same_amount_l_h": one.diagnosis.same_amount,
            "detectable_common_percent": _in_percent(one.diagnosis.evidence.detectable_common),
            "detectable_bed_percent": _in_percent(one.diagnosis.evidence.detectable_bed),
            "false_alarm_percent": _in_percent(one.diagnosis.evidence.false_alarm),
            "power_percent": _in_percent(one.diagnosis.evidence.power),
        }
        for one in found.rounds
    ]


def _cause_rows(found: Overview) -> list[Row]:
    findings = [finding for one in found.rounds for finding in one.diagnosis.findings]
    return [
        {
            "concerns": finding.beds[0] if len(finding.beds) == 1 else f"{len(finding.beds)} beds",
            "order": order,
            "beds": list(finding.beds),
            "change_percent": _in_percent(finding.change),
            "cause": cause.name,
            "look": cause.look,
        }
        for finding in findings
        for order, cause in enumerate(finding.causes, 1)
    ]


def _drift_rows(found: Overview) -> list[Row]:
    rows: list[Row] = []
    for drift in found.drifts:
        row: Row = {"bed": drift.bed, "tests": drift.tests, "verdict": "none seen"}
        row |= {"upper_sum": drift.upper, "lower_sum": drift.lower}
        row["limit"] = None if found.drift_plan is None else found.drift_plan.h
        if (alarm := drift.alarm) is not None:
            row |= {
                "verdict": alarm.direction
                if alarm.standing
                else f"was {alarm.direction}, back at the baseline",
                "since": alarm.since.date(),
                "noticed": alarm.noticed.date(),
                "shift_percent": _in_percent(alarm.shift),
            }
        rows.append(row)
    return rows


def _leak_rows(found: Overview) -> list[Row]:
    return [
        {
            "where": segment.where,
            "loss_l_per_day": segment.loss,
            "limit_l_per_day": segment.limit,
            "detectable_l_per_day": segment.detectable,
            "verdict": segment.verdict,
        }
        for segment in (() if found.leak is None else found.leak.segments)
    ]


def _water_rows(found: Overview) -> list[Row]:
    return [
        {
            "begins": moment(check.span.metered.begins),
            "ends": moment(check.span.metered.ends),
            "metered_l": check.span.metered.volume,
            "runs_l": check.runs,
            "house_l": check.house,
            "rest_l": check.rest,
            "limit_l": check.limit,
            "detectable_l": check.detectable,
            "days_recorded": check.span.recorded,
            "days_advised": check.span.advised,
            "days_unknown": check.span.unknown,
            "verdict": check.verdict,
        }
        for check in found.water
    ]


def _reading_rows(found: Overview) -> list[Row]:
    rows: list[Row] = []
    for odd in found.odd:
        what, wanted = odd_words(odd)
        row: Row = {"at": moment(odd.reading.at), "volume_l": odd.reading.volume, "why": odd.why}
        row["written"] = found.inputs.written[odd.number]
        rows.append(row | {"found": what, "wanted": wanted})
    for bed, at in found.inputs.single:
        what = f"{bed}: no second reading within hours makes a test of it"
        rows.append({"at": moment(at), "why": "single", "found": what, "wanted": "nothing, or test again"})
    return rows
