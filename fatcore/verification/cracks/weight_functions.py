"""Checks of the weight functions."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np
from numpy.polynomial.polynomial import polypow

from fatcore.cracks.intensity.solid import surface
from fatcore.cracks.intensity.weight_function import intensity as weight
from fatcore.cracks.intensity.weight_function.profiles import PolynomialProfile
from fatcore.verification.case import VerificationCase
from fatcore.verification.cracks._intensity import check, derived

_HALF_PLANE = ("1.1226", ".6847", ".5272", ".4425")
_TABULATED = ("1.1215", ".6829", ".5255", ".4410")
_ELLIPSE = (
    (0.2, "deepest", ("1.4951", ".6691", ".4469", ".3374")),
    (0.2, "surface", (".7940", ".6503", ".5652", ".5072")),
    (1.0, "deepest", ("1.0838", ".3495", ".2093", ".1490")),
    (1.0, "surface", ("1.2870", ".9974", ".8418", ".7421")),
)


def _edge() -> Iterator[VerificationCase]:
    for power, (expected, tabulated) in enumerate(zip(_HALF_PLANE, _TABULATED, strict=True)):
        profile = PolynomialProfile([0.0] * power + [1.0], 1.0)
        compute = _plain(profile, "half-plane")
        title = f"edge of a half plane under stress (x/a)^{power}"
        yield derived(f"weight-edge-{power}", title, expected, compute, "weight function of the half plane")
        yield check(
            f"weight-edge-tabulated-{power}",
            f"{title}, tabulated",
            tabulated,
            compute,
            source="tada-paris-irwin-2000",
            where="edge of a half plane under a power of the distance",
            relative=0.005,
            why="a universal weight function with three terms is within 0.5 % of the exact factors",
        )
    even = _plain(PolynomialProfile([1.0], 1.0), "centre")
    yield derived("weight-centre", "centre crack under uniform stress", "1.0008", even, "weight function, centre")


def _ellipse() -> Iterator[VerificationCase]:
    for ratio, point, printed in _ELLIPSE:
        for power, expected in enumerate(printed):
            yield derived(
                f"weight-{point}-{ratio}-{power}",
                f"{point} point under stress (1 - x/a)^{power}, a/t = 0.5, a/c = {ratio}",
                expected,
                _semi_ellipse(ratio, point, power),
                "weight function of the semi-ellipse",
            )


def _plain(profile: PolynomialProfile, point: str) -> Callable[[], float]:
    return lambda: float(weight.profile_intensity(profile, 1.0, point=point)) / float(np.sqrt(np.pi))


def _semi_ellipse(ratio: float, point: str, power: int) -> Callable[[], float]:
    profile = PolynomialProfile(polypow([1.0, -1.0], power), 0.5)
    scale = np.sqrt(np.pi * 0.5 / surface.shape_factor(ratio))
    return lambda: float(weight.profile_intensity(profile, 0.5, 0.5 / ratio, 1.0, point) / scale)


CASES = (*_edge(), *_ellipse())
