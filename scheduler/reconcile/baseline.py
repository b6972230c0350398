"""What a bed is expected to give: the mean of its own first tests, or until then the printed flow."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from scheduler.drip.flow_measurement import DAY_VARIATION
from scheduler.errors import Fault
from scheduler.reconcile.chances import chi_square_share
from scheduler.reconcile.flow_tests import FlowTest
from scheduler.reconcile.refused import finite_fault, positive_fault, refuse, share_fault

__all__ = [
    "FIRST_TESTS",
    "PRINTED_FLOW_SHARE",
    "Baseline",
    "baseline_from_print",
    "baseline_from_tests",
]

#: How many tests make a baseline.
FIRST_TESTS = 3
#: A sound new emitter lies within this share of its printed flow (ISO 9261:2004, from memory).
PRINTED_FLOW_SHARE = 0.07
#: First tests that scatter this rarely by chance are taken at their scatter, not at their stated uncertainty.
_SURPRISING = 0.01


@dataclass(frozen=True, slots=True)
class Baseline:
    """Expected flow of one bed.

    Attributes
    ----------
    flow : float
        Expected flow [L/h].
    own : float
        Standard uncertainty that belongs to this bed alone [L/h].
    shared : float
        Standard uncertainty that it has in common with the other beds [L/h].
    day_variation : float
        Standard deviation of a sound bed's flow from day to day, as a share.
    tests : int
        How many tests it rests on; 0 for the printed flow.
    method : str
        ``meter`` or ``bucket``; ``print`` for the printed flow.
    scatter_beyond_stated : bool
        True if its tests scatter more than their stated uncertainty explains (1 in 100 by chance).
    """

    bed: str
    flow: float
    own: float
    shared: float
    day_variation: float
    tests: int
    method: Literal["bucket", "meter", "print"]
    scatter_beyond_stated: bool = False
    may_under_read: bool = False


def baseline_from_tests(
    tests: Sequence[FlowTest], *, first: int = FIRST_TESTS, day_variation: float = DAY_VARIATION
) -> Baseline:
    """Return the mean of a bed's first tests; later ones are left to be compared with it.

    Tests are weighed alike. The day's pressure moves all beds together and counts as shared. Where the
    tests scatter more than stated, their own scatter takes the place of the stated uncertainty.

    Raises
    ------
    ReadingError
        Fewer tests than `first`, `first` below 2 (one test shows no scatter), tests of several beds or
        by several methods, a flow that is no number or zero, an uncertainty that is not above zero.
    """
    used = tuple(tests[:first])
    refuse("baseline", [*_test_faults(used, first), *_day_fault(day_variation)])
    flow = sum(test.flow for test in used) / first
    stated = sum(test.uncertainty**2 for test in used) / first**2
    day = day_variation * flow / math.sqrt(first)
    squares = [(test.flow - flow) ** 2 for test in used]
    surprise = sum(
        square / (test.uncertainty**2 + (day_variation * flow) ** 2)
        for square, test in zip(squares, used, strict=True)
    )
    beyond = chi_square_share(surprise, first - 1) < _SURPRISING
    own = sum(squares) / (first - 1) / first if beyond else stated
    return Baseline(
        bed=used[0].bed,
        flow=flow,
        own=math.sqrt(own),
        shared=day,
        day_variation=day_variation,
        tests=first,
        method=used[0].method,
        scatter_beyond_stated=beyond,
        may_under_read=any(test.may_under_read for test in used),
    )


def baseline_from_print(
    bed: str,
    *,
    emitter_flow: float,
    emitters: int,
    within: float = PRINTED_FLOW_SHARE,
    day_variation: float = DAY_VARIATION,
) -> Baseline:
    """Return the printed flow of a bed's emitters [L/h] at the pressure they are run at, as a prior.

    `within` is the half-width of a rectangle (JCGM 100:2008, 4.3.7). It is counted as shared, since the
    beds' lines may come from one batch.

    Raises
    ------
    ReadingError
        A flow or count that is no number or zero, or a half-width that is not a share.
    """
    where = f'printed flow of bed "{bed}"'
    faults = [
        *positive_fault(f"{where} > emitter flow", emitter_flow, wanted="write the flow of one emitter"),
        *positive_fault(f"{where} > emitters", emitters, wanted="count the emitters"),
        *share_fault(f"{where} > within", within, wanted="write a share, e.g. 0.07"),
        *_day_fault(day_variation),
    ]
    refuse("baseline", faults)
    flow = emitter_flow * emitters
    return Baseline(
        bed=bed,
        flow=flow,
        own=0.0,
        shared=within * flow / math.sqrt(3.0),
        day_variation=day_variation,
        tests=0,
        method="print",
    )


def _day_fault(day_variation: float) -> list[Fault]:
    wanted = "write a share below 0.5, e.g. 0.02"
    faults = finite_fault("variation from day to day", day_variation, wanted=wanted)
    if not faults and day_variation >= 0.5:
        faults = [Fault("variation from day to day", f"{day_variation!r} is too large", wanted)]
    return faults


def _test_faults(tests: tuple[FlowTest, ...], first: int) -> list[Fault]:
    faults = []
    if first < 2:
        faults.append(Fault("", f"a baseline of {first} test", "take two or more, so that scatter shows"))
    if len(tests) < max(first, 1):
        wanted = f"make {first} tests of the sound bed, or compare with the printed flow"
        faults.append(Fault("", f"found {len(tests)} tests", wanted))
    for what, seen in (("beds", {t.bed for t in tests}), ("methods", {t.method for t in tests})):
        if len(seen) > 1:
            names = ", ".join(sorted(seen))
            faults.append(Fault("", f"tests of several {what}: {names}", "make one baseline for each"))
    for n, test in enumerate(tests, 1):
        where = f'bed "{test.bed}", test {n}'
        faults += positive_fault(f"{where} > flow", test.flow, wanted="test again with the valve open")
        faults += positive_fault(
            f"{where} > uncertainty", test.uncertainty, wanted="give its standard uncertainty"
        )
    return faults
