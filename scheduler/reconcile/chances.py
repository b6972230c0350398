"""Quantiles and tail shares of the normal and the chi-square distribution."""

from __future__ import annotations

from statistics import NormalDist

from scipy import special

__all__ = ["chi_square_limit", "chi_square_share", "noncentrality", "normal_quantile", "share_of_each"]


def normal_quantile(share: float) -> float:
    """Return the value below which `share` of a standard normal population lies."""
    return NormalDist().inv_cdf(share)


def chi_square_share(value: float, freedom: int) -> float:
    """Return the share of a chi-square population above `value`; 1 without degrees of freedom."""
    return float(special.chdtrc(freedom, value)) if freedom > 0 else 1.0


def chi_square_limit(share: float, freedom: int) -> float:
    """Return the value that `share` of a chi-square population passes; 0 without degrees of freedom."""
    return float(special.chdtri(freedom, share)) if freedom > 0 else 0.0


def noncentrality(limit: float, freedom: int, *, found: float) -> float:
    """Return the noncentrality at which a chi-square value passes `limit` with the probability `found`.

    0 where the limit is passed that often without any.
    """
    if chi_square_share(limit, freedom) >= found:
        return 0.0
    return float(special.chndtrinc(limit, freedom, 1.0 - found))


def share_of_each(share: float, tests: int) -> float:
    """Return the false-alarm share of each of several independent tests that give `share` together.

    Reference: Sidak (1967), 1 - (1 - share) ** (1 / tests).
    """
    return float(1.0 - (1.0 - share) ** (1.0 / tests))
