"""What repeated findings say of a bed's use: a bounded factor on it. Pure.

A dig that finds a bed drier than reckoned sets its soil right. When that happens again and again in the same
direction, the bed uses more than its coefficient says, or gets less than its line promises, and the use is
reckoned higher from then on. All figures here are judgements without a source; the factor is always told.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "GREATEST_FACTOR",
    "LEAST_FACTOR",
    "REPEATS",
    "Feedback",
    "after_day",
    "after_finding",
    "no_feedback",
]

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

#: Findings in a row that must have moved the soil the same way.
REPEATS = 3

#: Bounds of the factor.
LEAST_FACTOR = 0.75
GREATEST_FACTOR = 1.25

#: Part of the mean error that a change of the factor takes up: half, so that chance is not chased.
GAIN = 0.5

#: Use between two findings below which an error says little [mm].
LEAST_USE = 5.0


class Feedback(NamedTuple):
    """What findings have told so far; arrays of shape (n_beds,), `errors` of shape (REPEATS, n_beds).

    Attributes
    ----------
    factor : array
        Factor on the use of each bed.
    used : array
        Use since the soil was last known [mm].
    errors : array
        How much drier (positive) the last findings were, as a share of the use before them; newest last,
        NaN where there are none yet.
    """

    factor: FloatArray
    used: FloatArray
    errors: FloatArray


def no_feedback(n_beds: int) -> Feedback:
    """Return the start: no finding, a factor of 1."""
    return Feedback(np.ones(n_beds), np.zeros(n_beds), np.full((REPEATS, n_beds), np.nan))


def after_finding(feedback: Feedback, moved: FloatArray, *, found: BoolArray, stated: BoolArray) -> Feedback:
    """Return the feedback after a morning's findings.

    Parameters
    ----------
    feedback : Feedback
    moved : array, shape (n_beds,)
        By how much the findings moved the depletion [mm].
    found, stated : arrays of bool, shape (n_beds,)
        Where something was found, and where the plan stated the soil, which only starts the count anew.
    """
    telling = found & ~stated & (feedback.used >= LEAST_USE)
    error = moved / np.maximum(feedback.used, LEAST_USE)
    shifted = np.vstack([feedback.errors[1:], error])
    errors = np.where(telling, shifted, feedback.errors)
    direction = np.sign(np.nan_to_num(errors))
    agreed = telling & (np.abs(direction.sum(axis=0)) == REPEATS)
    change = 1.0 + GAIN * np.nan_to_num(errors).mean(axis=0)
    factor = np.where(
        agreed, np.clip(feedback.factor * change, LEAST_FACTOR, GREATEST_FACTOR), feedback.factor
    )
    return Feedback(
        factor=factor,
        used=np.where(found | stated, 0.0, feedback.used),
        errors=np.where(agreed, np.nan, errors),
    )


def after_day(feedback: Feedback, use: FloatArray) -> Feedback:
    """Return the feedback after a day's use [mm]."""
    return feedback._replace(used=feedback.used + use)
