"""Did all beds change alike? Weighted mean and heterogeneity of their changes.

Reference: Cochran (1954), Biometrics 10: weights 1 / u**2, Q = sum of w (d - mean)**2 is chi-square with
n - 1 degrees of freedom for equal true changes, and independent of the mean.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["CommonFactor", "common_factor", "furthest"]


@dataclass(frozen=True, slots=True)
class CommonFactor:
    """The common change of several beds.

    Attributes
    ----------
    mean, uncertainty : float
        Weighted mean change and its standard uncertainty, the shared part included.
    heterogeneity : float
        Cochran's Q.
    freedom : int
        Its degrees of freedom.
    """

    mean: float
    uncertainty: float
    heterogeneity: float
    freedom: int

    @property
    def deviations(self) -> float:
        """Return the mean in units of its uncertainty."""
        return self.mean / self.uncertainty


def common_factor(changes: Sequence[float], own: Sequence[float], *, shared: float) -> CommonFactor:
    """Return the common change of beds whose changes have the standard uncertainties `own`, all above 0.

    `shared` is an uncertainty that moves all of them together; it widens the mean, not the differences.
    """
    d, u = np.asarray(changes, dtype=float), np.asarray(own, dtype=float)
    weights = u**-2
    mean = float((weights * d).sum() / weights.sum())
    return CommonFactor(
        mean=mean,
        uncertainty=math.hypot(float(weights.sum()) ** -0.5, shared),
        heterogeneity=float((weights * (d - mean) ** 2).sum()),
        freedom=d.size - 1,
    )


def furthest(changes: Sequence[float], own: Sequence[float]) -> int:
    """Return the index of the bed that lies furthest from the weighted mean of the others.

    Distance in standard uncertainties of the difference: (d - mean) / sqrt(u**2 - 1 / sum of w), which is
    the same with the bed in the mean or left out of it.
    """
    d, u = np.asarray(changes, dtype=float), np.asarray(own, dtype=float)
    weights: NDArray[np.float64] = u**-2
    mean = (weights * d).sum() / weights.sum()
    return int(np.argmax(np.abs(d - mean) / np.sqrt(u**2 - 1.0 / weights.sum())))
