"""Loss coefficients of fittings: head lost = K V2 / 2g, V in the tube behind the fitting."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from scheduler.layout.graph import Fitting, Role

__all__ = ["LossCoefficient", "loss_coefficient", "published_losses"]

#: Bore of a barbed fitting as a share of that of its tube, from memory: 75 to 80 %.
BARB_BORE = 0.75


@dataclass(frozen=True, slots=True)
class LossCoefficient:
    """K of a fitting, where it is from, and whether that was read or is from memory."""

    k: float
    source: str
    from_memory: bool = False


_TABLES = "minor-loss tables of hydraulics references"
_SHAPES = "contraction 0.5 (1 - r), widening (1 - r)^2, r the ratio of areas"


def _through_barb(*, entrance: float) -> float:
    """Return K of a barbed piece on the velocity in the tube: into its bore and out again."""
    ratio = BARB_BORE**2
    return (entrance + (1.0 - ratio) ** 2) / ratio**2


# Where the tables disagree (elbow: 0.75, 0.9 and 1.5) the largest printed figure is taken.
_LOSSES: dict[Role, LossCoefficient] = {
    "tee line": LossCoefficient(0.9, f"{_TABLES}: threaded tee, line flow"),
    "tee branch": LossCoefficient(2.0, f"{_TABLES}: threaded tee, branch flow"),
    "elbow": LossCoefficient(1.5, f"{_TABLES}: threaded regular 90 degree elbow, 0.75 to 1.5"),
    "hand valve": LossCoefficient(0.05, f"{_TABLES}: ball valve, open"),
    "coupling": LossCoefficient(
        _through_barb(entrance=0.5 * (1.0 - BARB_BORE**2)), f"{_SHAPES}; bore of the barb from memory", True
    ),
    "barb": LossCoefficient(
        _through_barb(entrance=0.5), f"entrance 0.5; {_SHAPES}; bore of the barb from memory", True
    ),
}


def published_losses() -> dict[Role, LossCoefficient]:
    """Return K of every way through a fitting that does not hang on its sizes."""
    return dict(_LOSSES)


def loss_coefficient(fitting: Fitting, role: Role, bore: float) -> float:
    """Return K of a fitting on the velocity in the tube of bore `bore` [m] behind it.

    A reducer is a contraction from its widest bore, 0.5 (1 - r). A barb that feeds a ring carries the water
    of both its halves, so that on the velocity in one of them its K counts four times.
    """
    if role == "reducer":
        return _contraction(fitting.bores, bore)
    if role == "barb to ring":
        return 4.0 * _LOSSES["barb"].k
    return _LOSSES[role].k


def _contraction(bores: Sequence[float], bore: float) -> float:
    return max(0.5 * (1.0 - (bore / max(bores)) ** 2), 0.0)
