"""Detection curves: the probability that an inspection finds a crack of a size."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from fatcore.bounds import Positive, Slope, guard
from fatcore.errors import InputError, UnknownError
from fatcore.require import FloatArray, finite
from fatcore.tables import load

TABLE = "cracks/detection"
USER_DEFINED = "user-defined curve"
_CERTAIN = 1e300  # odds that leave no doubt, and are finite
SizeWord = Literal["depth", "length"]


@dataclass(frozen=True, slots=True, kw_only=True)
class DetectionCurve:
    """Probability of detection 1 - 1 / (1 + (x / median)^exponent) over the crack size x.

    median_mm : size that is found every second time
    size      : depth or length (the whole surface length); None is that of the history it is used with
    """

    median_mm: Positive
    exponent: Slope
    size: SizeWord | None = None
    name: str = USER_DEFINED

    def __post_init__(self) -> None:
        guard(self)

    def probability(self, crack_size_mm: ArrayLike) -> FloatArray:
        """Probability of detection [-] at a size [mm], scalar or array, >= 0.

        >>> float(DetectionCurve(median_mm=2.0, exponent=0.9).probability(2.0))
        0.5
        """
        ratio = np.maximum(finite("crack_size_mm", crack_size_mm), 0.0) / self.median_mm
        with np.errstate(over="ignore"):
            power = np.minimum(ratio**self.exponent, _CERTAIN)
        return np.asarray(power / (1.0 + power))

    def crack_size_mm(self, probability: float) -> float:
        """Size that is found with a probability between 0 and 1."""
        if not 0.0 < probability < 1.0:
            raise InputError("detection_probability must lie between 0 and 1", "detection_probability")
        return float(self.median_mm * (probability / (1.0 - probability)) ** (1.0 / self.exponent))


def detection_curves() -> dict[str, str]:
    """Names and titles of the published detection curves."""
    return {name: str(entry["title"]) for name, entry in sorted(load(TABLE)["curves"].items())}


def named_detection(name: str) -> DetectionCurve:
    """A published detection curve; UnknownError for another name.

    Source : [dnv-rp-c210]
    """
    curves = load(TABLE)["curves"]
    if name not in curves:
        raise UnknownError("detection curve", name, curves, "curve")
    entry = curves[name]
    return DetectionCurve(median_mm=entry["median_mm"], exponent=entry["exponent"], size=entry["size"], name=name)
