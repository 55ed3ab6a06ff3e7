"""Checks of surface, corner and embedded ellipses."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from fatcore.cracks.intensity.solid import corner, embedded, surface
from fatcore.tables import load
from fatcore.verification.case import VerificationCase
from fatcore.verification.cracks._intensity import check, derived

_TABLE = load("cracks/raju_newman_1979_tension")
# a/c, a/t: tension surface, tension deepest, bending surface, bending deepest, on sqrt(pi a)
_EQUATION = {
    (0.2, 0.2): ("0.5590", "1.1221", "0.5186", "0.8554"),
    (0.2, 0.5): ("0.7561", "1.4237", "0.6192", "0.6371"),
    (0.2, 0.8): ("1.0940", "1.8477", "0.7772", "0.3376"),
    (1.0, 0.2): ("0.7437", "0.6676", "0.6767", "0.4879"),
    (1.0, 0.5): ("0.8199", "0.6904", "0.6354", "0.2227"),
    (1.0, 0.8): ("0.9494", "0.7171", "0.6076", "-0.0654"),
}
_INFINITE = {
    0.2: ("0.951926", "0.425714"),
    0.4: ("0.869070", "0.549648"),
    0.5: ("0.825726", "0.583876"),
    0.6: ("0.783484", "0.606884"),
    1.0: ("0.636620", "0.636620"),
}


def _fitted(ratio: float, relative: float, angle_deg: float) -> Callable[[], float]:
    """Boundary correction F of the equations for tension."""

    def compute() -> float:
        factor = surface.geometry_factors(relative, relative / ratio, 1.0, angle_deg=angle_deg).tension
        return float(factor * np.sqrt(surface.shape_factor(ratio)))

    return compute


def _finite_elements() -> Iterator[VerificationCase]:
    for row in _TABLE["rows"]:
        largest = max(range(2, len(row)), key=lambda column: float(row[column]))
        angle = 90.0 * _TABLE["angle_over_right"][largest - 2]
        yield check(
            f"surface-fe-{row[0]}-{row[1]}",
            f"largest F in tension, a/c = {row[0]}, a/t = {row[1]}",
            row[largest],
            _fitted(float(row[0]), float(row[1]), angle),
            source="raju-newman-1979",
            where=f"table of F, tension, angle {angle:g} deg",
            relative=_TABLE["tolerance"][row[0]],
            why="the equations are a fit to these finite-element values, 5 % as stated, at small a/c more",
        )


def _equations() -> Iterator[VerificationCase]:
    names = ("tension, surface", "tension, deepest", "bending, surface", "bending, deepest")
    order = ("surface_tension", "deepest_tension", "surface_bending", "deepest_bending")
    for (ratio, relative), printed in _EQUATION.items():
        for name, attribute, expected in zip(names, order, printed, strict=True):
            yield derived(
                f"surface-{attribute}-{ratio}-{relative}",
                f"Y in {name} point, a/c = {ratio}, a/t = {relative}",
                expected,
                _front(relative, ratio, attribute),
                "equations of the surface crack",
            )


def _front(relative: float, ratio: float, attribute: str) -> Callable[[], float]:
    return lambda: float(getattr(surface.front_factors(relative, relative / ratio, 1.0), attribute))


def _corners() -> Iterator[VerificationCase]:
    for angle, expected in ((0.0, "0.5594"), (45.0, "0.9736"), (90.0, "1.2395")):
        yield derived(
            f"corner-{angle:g}",
            f"F of the corner crack, a/c = a/t = 0.2, {angle:g} deg",
            expected,
            lambda angle=angle: float(corner.boundary_factor(0.2, 0.2, angle)),  # type: ignore[misc]
            "equations of the corner crack",
        )


def _embedded() -> Iterator[VerificationCase]:
    for ratio, printed in _INFINITE.items():
        for angle, expected in zip((90.0, 0.0), printed, strict=True):
            yield derived(
                f"embedded-{ratio}-{angle:g}",
                f"K / (S sqrt(pi a)) of the ellipse, a/c = {ratio}, {angle:g} deg",
                expected,
                _ellipse(ratio, angle),
                "exact solution of the ellipse",
            )
    for angle, expected in ((0.0, "0.7284"), (90.0, "1.0580")):
        yield derived(
            f"embedded-plate-{angle:g}",
            f"F of the ellipse in a plate, a/c = 0.5, a = a quarter of the plate, {angle:g} deg",
            expected,
            lambda angle=angle: float(embedded.boundary_factor(0.5, 0.5, angle)),  # type: ignore[misc]
            "equations of the embedded crack",
        )


def _ellipse(ratio: float, angle: float) -> Callable[[], float]:
    unit = {"half_length_mm": 1.0 / ratio, "angle_deg": angle, "membrane_mpa": 1.0}
    return lambda: float(embedded.infinite(1.0, **unit)) / float(np.sqrt(np.pi))


CASES = (*_finite_elements(), *_equations(), *_corners(), *_embedded())
