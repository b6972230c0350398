"""How far a result may lie from a printed figure."""

from decimal import Decimal

__all__ = ["half_digit"]


def half_digit(printed: str, tolerance: float | None = None) -> float:
    """Return half of the last printed digit, or the tolerance that the data state with their reason.

    A hair is added, since the exact half of a digit is no binary number.
    """
    half = 0.5 * 10.0 ** int(Decimal(printed).as_tuple().exponent) if tolerance is None else tolerance
    return half * (1 + 1e-9) + 1e-12
