"""The quantities of a laboratory report: unit, whether each is told by way, what it can be."""

from dataclasses import dataclass
from decimal import Decimal

from seamlab.models import LabFigure


@dataclass(frozen=True)
class Measurable:
    """What a quantity can be: its unit, whether it is told by way, and limits beyond which a unit was mixed up
    (common practice, no source)."""

    unit: str
    by_way: bool
    least: Decimal
    most: Decimal


def _row(unit: str, by_way: bool, least: str, most: str) -> Measurable:
    return Measurable(unit, by_way, Decimal(least), Decimal(most))


Q = LabFigure.Quantity
MEASURABLE: dict[str, Measurable] = {
    Q.BIAS_EXTENSION: _row("%", False, "0.1", "60"),
    Q.EXTENSION_5: _row("%", True, "0.01", "60"),
    Q.EXTENSION_20: _row("%", True, "0.01", "100"),
    Q.EXTENSION_100: _row("%", True, "0.05", "200"),
    Q.MODULUS: _row("N/m", True, "10", "200000"),
    Q.POISSON: _row("", False, "0", "1.5"),
    Q.BENDING_FACE: _row("mm", True, "3", "150"),
    Q.BENDING_BACK: _row("mm", True, "3", "150"),
    Q.GRAB_STRENGTH: _row("N", True, "5", "10000"),
    Q.STRIP_STRENGTH: _row("N", True, "5", "10000"),
    Q.THREADS: _row("per cm", True, "2", "200"),
    Q.YARN_TEX: _row("tex", True, "0.5", "2000"),
    Q.THICKNESS_2: _row("mm", False, "0.02", "50"),
    Q.THICKNESS_100: _row("mm", False, "0.02", "50"),
}
