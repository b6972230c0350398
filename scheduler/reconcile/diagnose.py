"""One round of tests over all beds: has anything changed, in one bed or in all, and what to look at first.

Two tests decide whether anything changed at all: the weighted mean against zero and the heterogeneity of
the changes. They are independent, so the round's false-alarm share is what was asked for. What explains a
round that fails is then the explanation with the fewest parts, each bed of its own counting as one and a
change common to all as one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from scheduler.errors import Fault
from scheduler.reconcile.bed_flow import FlowCheck
from scheduler.reconcile.causes import Cause, all_beds_down, all_beds_up, bed_down, bed_up, same_amount_up
from scheduler.reconcile.chances import chi_square_limit, noncentrality, normal_quantile, share_of_each
from scheduler.reconcile.common_factor import CommonFactor, common_factor, furthest
from scheduler.reconcile.refused import positive_fault, refuse, share_fault

__all__ = ["Diagnosis", "Evidence", "Finding", "diagnose"]

Kind = Literal["cannot tell", "global", "local", "mixed", "nothing seen"]


@dataclass(frozen=True, slots=True)
class Evidence:
    """The figures behind a diagnosis.

    Attributes
    ----------
    common : CommonFactor
        Mean change of all beds and their heterogeneity.
    mean_limit : float
        Standard deviations beyond which the mean counts as changed.
    heterogeneity_limit : float
        Value of Q beyond which the beds differ.
    false_alarm, power : float
        Share of sound rounds that are called changed; power of the two figures below.
    detectable_common : float
        Smallest change of all beds alike that is found with `power`, as a share.
    detectable_bed : float or None
        Smallest change of one bed alone that shows against the others with `power`, for the least certain
        bed, as a share; None for a single bed.
    """

    common: CommonFactor
    mean_limit: float
    heterogeneity_limit: float
    false_alarm: float
    power: float
    detectable_common: float
    detectable_bed: float | None


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that changed.

    Attributes
    ----------
    beds : tuple of str
        The beds that it concerns.
    change, uncertainty : float
        Relative change and its standard uncertainty; beside a common change, what the bed has on top.
    causes : tuple of Cause
        In the order in which to look.
    """

    beds: tuple[str, ...]
    change: float
    uncertainty: float
    causes: tuple[Cause, ...]


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """What a round of tests says.

    Attributes
    ----------
    kind : str
        ``nothing seen``; ``local``, some beds by themselves; ``global``, all alike; ``mixed``, both;
        ``cannot tell`` if only one bed was tested.
    same_amount : float or None
        What every test had on top [L/h], where one flow explains the round better than one share.
    findings : tuple of Finding
        In the order in which to look; what concerns all beds comes first.
    """

    kind: Kind
    same_amount: float | None
    findings: tuple[Finding, ...]
    evidence: Evidence


@dataclass(frozen=True, slots=True)
class _Explanation:
    """Beds that stand out, whether the others share a change, and how ill it fits."""

    outside: tuple[int, ...]
    common: Literal["amount", "none", "share"]
    misfit: float

    @property
    def rank(self) -> tuple[int, bool, float]:
        parts = len(self.outside) + (self.common != "none")
        return parts, bool(self.outside) and self.common != "none", self.misfit


class _Round:
    """The changes of one round and the two tests, at the share that each of them may fail by chance."""

    def __init__(self, checks: Sequence[FlowCheck], each: float) -> None:
        self.checks = tuple(checks)
        self.each = each
        self.mean_limit = normal_quantile(1.0 - each / 2.0)

    def fit(self, beds: Sequence[int]) -> CommonFactor:
        chosen = [self.checks[i] for i in beds]
        # What each shares with the others reaches the mean by its weight: a bed that still goes by its
        # printed flow, such as one just relaid, has little of it, and must not hide what all have.
        weights = [c.own**-2 for c in chosen]
        shared = sum(w * c.shared for w, c in zip(weights, chosen, strict=True)) / sum(weights)
        return common_factor([c.change for c in chosen], [c.own for c in chosen], shared=shared)

    def amount(self) -> CommonFactor:
        """Return the common change in flow [L/h]; what all share as a share is left out of its width."""
        changes = [c.change * c.baseline for c in self.checks]
        return common_factor(changes, [c.own * c.baseline for c in self.checks], shared=0.0)

    def alike(self, fit: CommonFactor) -> bool:
        # A single bed is like itself, whatever rounding makes of it.
        return fit.freedom == 0 or fit.heterogeneity <= chi_square_limit(self.each, fit.freedom)

    def unchanged(self, fit: CommonFactor) -> bool:
        return self.alike(fit) and abs(fit.deviations) <= self.mean_limit


def diagnose(checks: Sequence[FlowCheck], *, false_alarm: float = 0.05, power: float = 0.95) -> Diagnosis:
    """Return what changed in a round of tests, one for each bed.

    A round of sound beds is called changed with the probability `false_alarm`, if each bed has been
    measured for itself: readings shared between neighbouring tests make it a little more.

    Raises
    ------
    ReadingError
        No tests, two tests of one bed, changes that are no numbers, shares outside 0..1.
    """
    refuse("round of tests", _faults(checks, false_alarm, power))
    beds = range(len(checks))
    round_ = _Round(checks, share_of_each(false_alarm, 2) if len(checks) > 1 else false_alarm)
    evidence = _evidence(round_, false_alarm, power)
    if round_.unchanged(evidence.common):
        return Diagnosis("nothing seen", same_amount=None, findings=(), evidence=evidence)
    candidates = (_some_beds(round_), _all_and_some(round_), _same_amount(round_))
    best = min((c for c in candidates if c is not None), key=lambda c: c.rank)
    rest = [i for i in beds if i not in best.outside]
    fit = round_.fit(rest) if best.common != "none" else None
    ordered = sorted(best.outside, key=lambda i: -abs(checks[i].change) / checks[i].uncertainty)
    findings = tuple(_bed_finding(round_, i, fit) for i in ordered)
    if fit is not None:
        findings = (_common_finding(round_, rest, fit, best.common == "amount"), *findings)
    amount = round_.amount().mean if best.common == "amount" else None
    return Diagnosis(_kind(len(checks), best), amount, findings, evidence)


def _faults(checks: Sequence[FlowCheck], false_alarm: float, power: float) -> list[Fault]:
    faults = [
        *share_fault("false-alarm share", false_alarm, wanted="write a share, e.g. 0.05"),
        *share_fault("power", power, wanted="write a share, e.g. 0.95"),
    ]
    if not checks:
        faults.append(Fault("", "no bed was tested", "test each bed once"))
    names = [check.bed for check in checks]
    for name in sorted({name for name in names if names.count(name) > 1}):
        faults.append(Fault(f'bed "{name}"', "is tested twice in one round", "leave one of the tests out"))
    for check in checks:
        where = f'bed "{check.bed}"'
        faults += positive_fault(f"{where} > uncertainty", check.own, wanted="check the bed's flow first")
        faults += positive_fault(
            f"{where} > share left", 1.0 + check.change + 1e-12, wanted="check the bed's flow first"
        )
    return faults


def _evidence(round_: _Round, false_alarm: float, power: float) -> Evidence:
    common = round_.fit(range(len(round_.checks)))
    limit = chi_square_limit(round_.each, common.freedom)
    weights = [check.own**-2 for check in round_.checks]
    # One bed's shift d has the noncentrality w (1 - w / sum of w) d**2; the least weight is the worst case,
    # but for a bed so certain that it draws the mean along.
    reach = min(w * (1.0 - w / sum(weights)) for w in weights)
    bed = (noncentrality(limit, common.freedom, found=power) / reach) ** 0.5 if common.freedom else None
    return Evidence(
        common=common,
        mean_limit=round_.mean_limit,
        heterogeneity_limit=limit,
        false_alarm=false_alarm,
        power=power,
        detectable_common=(round_.mean_limit + normal_quantile(power)) * common.uncertainty,
        detectable_bed=bed,
    )


def _some_beds(round_: _Round) -> _Explanation:
    """Return the beds to leave out, the most changed first, until the rest is unchanged."""
    checks = round_.checks
    order = sorted(range(len(checks)), key=lambda i: -abs(checks[i].change) / checks[i].uncertainty)
    for count in range(1, len(order)):
        rest = order[count:]
        if round_.unchanged(round_.fit(rest)):
            misfit = sum((checks[i].change / checks[i].uncertainty) ** 2 for i in rest)
            return _Explanation(tuple(order[:count]), "none", misfit)
    return _Explanation(tuple(order), "none", 0.0)


def _all_and_some(round_: _Round) -> _Explanation | None:
    """Return the beds to leave out until the rest changed alike; None unless that is most of the beds."""
    rest = list(range(len(round_.checks)))
    outside: list[int] = []
    while len(rest) > max(1, len(outside)):
        fit = round_.fit(rest)
        if round_.alike(fit):
            return _Explanation(tuple(outside), "share", fit.heterogeneity)
        outside.append(rest.pop(furthest([round_.checks[i].change for i in rest], _own(round_, rest))))
    return None


def _own(round_: _Round, beds: Sequence[int]) -> list[float]:
    return [round_.checks[i].own for i in beds]


def _same_amount(round_: _Round) -> _Explanation | None:
    """Return the explanation by one flow that every test had on top; only more water can be that."""
    if len(round_.checks) < 2:
        return None
    fit = round_.amount()
    if fit.deviations <= round_.mean_limit or not round_.alike(fit):
        return None
    return _Explanation((), "amount", fit.heterogeneity)


def _kind(beds: int, best: _Explanation) -> Kind:
    if beds == 1:
        return "cannot tell"
    if best.common == "none":
        return "local"
    return "mixed" if best.outside else "global"


def _bed_finding(round_: _Round, bed: int, fit: CommonFactor | None) -> Finding:
    check = round_.checks[bed]
    change = check.change - (fit.mean if fit else 0.0)
    others = [other for other in round_.checks if other is not check]
    down = change < 0.0
    causes = bed_down(check, change=change) if down else bed_up(check, change=change, others=others)
    if len(round_.checks) == 1:
        # A single bed cannot tell its own fault from one of the whole garden.
        causes = (*causes, *(all_beds_down() if down else all_beds_up()))
    return Finding((check.bed,), change, check.uncertainty if fit is None else check.own, causes)


def _common_finding(round_: _Round, beds: Sequence[int], fit: CommonFactor, same_amount: bool) -> Finding:
    causes = same_amount_up() if same_amount else all_beds_down() if fit.mean < 0.0 else all_beds_up()
    return Finding(tuple(round_.checks[i].bed for i in beds), fit.mean, fit.uncertainty, causes)
