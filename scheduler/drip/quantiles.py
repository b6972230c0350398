"""Quantiles of Student's t and of chi-square; the package that knows them is loaded when they are asked."""

from __future__ import annotations

__all__ = ["chi_square_quantile", "student_quantile"]


def student_quantile(share: float, freedom: int) -> float:
    """Return the value below which `share` of Student's distribution lies."""
    from scipy import special  # here, so that a table of run times does not wait for it

    return float(special.stdtrit(freedom, share))


def chi_square_quantile(share: float, freedom: int) -> float:
    """Return the value below which `share` of the chi-square distribution lies."""
    from scipy import special  # as above

    return float(special.chdtri(freedom, 1.0 - share))
