"""How the potential of a specimen depends on its crack."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, Literal

import numpy as np
from annotated_types import Len, doc
from numpy.polynomial.polynomial import polyval

from fatcore.bounds import Number, Positive, guard
from fatcore.errors import InputError
from fatcore.figures import as_given, figure
from fatcore.require import FloatArray
from fatcore.tables import load

TABLE = "trials/crack_length"
_COMPACT = load(TABLE)["compact"]
_FAR = 1.0  # widths, beyond which a probe sees nothing of the crack [own choice]
_SATURATED = 0.99  # of the largest size, beyond which the ratio says nothing of the size [own choice]
_PLACES = 2001  # ratios at which one's own polynomial is looked at
_ROUNDING = 1e-9
_HALVINGS = 60
SpecimenForm = Literal["centre", "edge", "compact"]
_Coefficients = Annotated[Sequence[Number], Len(2, 9)]


def inverse_of(coefficients: FloatArray, low: float, high: float, value: FloatArray) -> FloatArray:
    """Where a polynomial that is monotonic between low and high has each value, by bisection.

    Raises : InputError with the place of the first value that it does not have there

    >>> inverse_of(np.array([0.0, 0.0, 1.0]), 0.0, 3.0, np.array([4.0])).round(12).tolist()
    [2.0]
    """
    ends = polyval(np.array([low, high]), coefficients)
    beyond = (value < ends.min() - _ROUNDING) | (value > ends.max() + _ROUNDING)
    if beyond.any():
        place = int(np.argmax(beyond))
        text = f"the polynomial goes from {figure(ends.min())} to {figure(ends.max())} of W, not to this size"
        raise InputError(text, place)
    left, right = np.full(value.shape, low), np.full(value.shape, high)
    for _ in range(_HALVINGS):
        middle = 0.5 * (left + right)
        short = (polyval(middle, coefficients) < value) == (ends[0] < ends[1])
        left, right = np.where(short, middle, left), np.where(short, right, middle)
    return np.asarray(0.5 * (left + right))


@dataclass(frozen=True, slots=True, kw_only=True)
class PotentialForm:
    """How the potential of a specimen depends on its crack.

    specimen      : centre (half length between probes across the middle), edge (from the edge, probes across the
                    mouth), compact (from the load line)
    width_mm      : full width W of centre and compact specimens, of an edge specimen the width itself
    probe_mm      : distance of each probe from the plane of the crack; of centre and edge
    reference_mm  : crack size at which the ratio of potentials is 1; of compact fixed by the form
    size_coefficients  : a polynomial of one's own in place of the form: size/width by rising powers of the ratio
    ratio_low, ratio_high : of the ratio within which one's own polynomial holds
    """

    specimen: SpecimenForm
    width_mm: Positive
    probe_mm: Annotated[Positive | None, doc("distance of each probe from the plane of the crack [mm]")] = None
    reference_mm: Annotated[Positive | None, doc("crack size at which the ratio of potentials is 1 [mm]")] = None
    size_coefficients: Annotated[
        _Coefficients | None, doc("own polynomial: size/width by rising powers of the ratio")
    ] = None
    ratio_low: Annotated[Positive | None, doc("least ratio for which the own polynomial holds")] = None
    ratio_high: Annotated[Positive | None, doc("largest ratio for which the own polynomial holds")] = None

    def __post_init__(self) -> None:
        guard(self)
        for name in ("probe_mm", "reference_mm"):
            if self.closed and getattr(self, name) is None:
                raise InputError(f"the {self.specimen} form needs {name}", name)
            if not self.closed and getattr(self, name) is not None:
                raise InputError(f"{name} belongs to the closed form of centre and edge specimens", name)
        own = [getattr(self, name) for name in ("size_coefficients", "ratio_low", "ratio_high")]
        if any(each is not None for each in own) and any(each is None for each in own):
            raise InputError(
                "a polynomial of one's own needs size_coefficients, ratio_low and ratio_high", "size_coefficients"
            )
        if self.ratio_low is not None and self.ratio_high is not None and self.ratio_low >= self.ratio_high:
            raise InputError("ratio_high must be greater than ratio_low", "ratio_high")
        self._guard_polynomial()
        if self.reference_mm is not None and self.reference_mm >= self.largest_mm:
            raise InputError(f"the reference crack must be shorter than {as_given(self.largest_mm)} mm", "reference_mm")
        if self.probe_mm is not None and self.probe_mm > _FAR * self.width_mm:
            raise InputError(
                f"probes more than a width, {as_given(self.width_mm)} mm, from the crack see nothing of it", "probe_mm"
            )

    def _guard_polynomial(self) -> None:
        """One's own polynomial must rise and stay within the specimen between its ratios."""
        if self.size_coefficients is None or self.ratio_low is None or self.ratio_high is None:
            return
        with np.errstate(over="ignore", invalid="ignore"):
            size = self.size_mm(np.linspace(self.ratio_low, self.ratio_high, _PLACES))
            inside = (size >= -_ROUNDING * self.largest_mm) & (size <= self.largest_mm * (1.0 + _ROUNDING))
            rises = np.diff(size) > 0.0
        if not inside.all():
            text = f"the polynomial leaves 0 to {as_given(self.largest_mm)} mm between ratio_low and ratio_high"
            raise InputError(text, "size_coefficients")
        if not rises.all():
            text = "the polynomial does not rise all the way from ratio_low to ratio_high: one ratio has several sizes"
            raise InputError(text, "size_coefficients")

    @property
    def _full_width(self) -> float:
        # an edge crack is half of a centre crack in a plate of twice its width
        return 2.0 * self.width_mm if self.specimen == "edge" else self.width_mm

    @property
    def largest_mm(self) -> float:
        """Size of a crack through the whole specimen."""
        return self.width_mm if self.specimen == "compact" else 0.5 * self._full_width

    @property
    def closed(self) -> bool:
        """Whether the form is the closed one of centre and edge specimens."""
        return self.specimen != "compact" and self.size_coefficients is None

    def size_mm(self, ratio: FloatArray) -> FloatArray:
        """Crack size at each ratio of potentials [mm]; 0 below the ratio of an uncracked specimen."""
        if self.size_coefficients is not None:
            return np.asarray(polyval(ratio, np.array(self.size_coefficients)) * self.width_mm)
        if self.specimen == "compact":
            return np.asarray(polyval(ratio, np.array(_COMPACT["inverse"])) * self.width_mm)
        width, cosh_probe, scale = self._terms
        inside = cosh_probe / np.cosh(ratio * scale)
        return np.asarray(width / np.pi * np.arccos(np.minimum(inside, 1.0)))

    def ratio(self, size_mm: FloatArray) -> FloatArray:
        """Ratio of potentials at each crack size.

        Raises : InputError with the place of a size that a polynomial of one's own does not reach between its ratios
        """
        if self.size_coefficients is not None and self.ratio_low is not None and self.ratio_high is not None:
            share = np.asarray(size_mm) / self.width_mm
            return inverse_of(np.array(self.size_coefficients), self.ratio_low, self.ratio_high, share)
        if self.specimen == "compact":
            share = size_mm / self.width_mm
            return np.asarray(polyval(share, np.array(_COMPACT["forward"])))
        width, cosh_probe, scale = self._terms
        return np.asarray(np.arccosh(cosh_probe / np.cos(np.pi * size_mm / width)) / scale)

    @property
    def _terms(self) -> tuple[float, float, float]:
        assert self.probe_mm is not None
        assert self.reference_mm is not None
        width = self._full_width
        cosh_probe = float(np.cosh(np.pi * self.probe_mm / width))
        return width, cosh_probe, float(np.arccosh(cosh_probe / np.cos(np.pi * self.reference_mm / width)))

    def limits(self) -> tuple[float, float]:
        """Ratios between which the form holds."""
        if self.ratio_low is not None and self.ratio_high is not None:
            return self.ratio_low, self.ratio_high
        if self.specimen == "compact":
            low, high = _COMPACT["share"]
            ends = self.ratio(np.array([low, high]) * self.width_mm)
            return float(ends[0]), float(ends[1])
        ends = self.ratio(np.array([1e-6, _SATURATED]) * self.largest_mm)
        return float(ends[0]), float(ends[1])

    @property
    def source(self) -> str:
        """Key of the publication."""
        if self.size_coefficients is not None:
            return "own-calibration"
        return "hicks-pickard-1982" if self.specimen == "compact" else "johnson-1965"
