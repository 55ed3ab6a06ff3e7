"""Published and independently computed numbers of sharp notches: exponents, energy coefficients, radii."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial

from fatcore.sources import Status
from fatcore.stress.mean_stress import mean_stress_coefficient
from fatcore.stress.notch.constants import notch_constants
from fatcore.stress.notch.energy import control_radius
from fatcore.stress.notch.energy_coefficients import (
    energy_coefficient_opening,
    energy_coefficients,
    fit_coefficient_opening,
    fit_coefficient_sliding,
)
from fatcore.verification.case import VerificationCase

# angle; exponents of the three modes; chi of the two in-plane modes
_EXPONENTS = """
0   0.500000 0.500000 0.500000 1.000000 1.000000
30  0.501453 0.598192 0.545455 1.070685 0.921211
60  0.512221 0.730901 0.600000 1.312308 0.658397
90  0.544484 0.908529 0.666667 1.841364 0.218923
135 0.673583 1.302086 0.800000 4.152916 -0.569463
150 0.751975 1.485812 0.857143 6.361661 -0.786925
"""
# angle; energy coefficients of the three modes, plane strain, Poisson's ratio 0.3
_ENERGIES = """
0   0.13449 0.34139 0.41380
30  0.14484 0.27297 0.37932
60  0.15037 0.21530 0.34484
90  0.14623 0.16793 0.31035
135 0.11722 0.11250 0.25863
150 0.10304 0.09723 0.24138
"""
_LOAD_RATIOS = {
    "-1": "0.5000",
    "-0.5": "0.5556",
    "0": "1.0000",
    "0.1": "1.2222",
    "0.3": "1.8571",
    "0.5": "3.0000",
}


def _check(
    name: str,
    title: str,
    source: str,
    where: str,
    status: Status,
    expected: str,
    compute: Callable[[], float],
    *,
    tolerance: float | None = None,
    why: str = "",
) -> VerificationCase:
    return VerificationCase(
        id=name,
        title=title,
        source=source,
        where=where,
        status=status,
        expected=expected,
        compute=compute,
        tolerance=tolerance,
        why=why,
    )


def _rows(table: str) -> Iterator[list[str]]:
    return (line.split() for line in table.strip().splitlines())


def _exponents(angle: float) -> list[float]:
    notch = notch_constants(angle)
    return [*notch.eigenvalues.as_array().tolist(), notch.auxiliary_opening, notch.auxiliary_sliding]


def _exponent_checks() -> Iterator[VerificationCase]:
    names = ("exponent opening", "exponent sliding", "exponent tearing", "chi opening", "chi sliding")
    for angle, *values in _rows(_EXPONENTS):
        for index, (name, expected) in enumerate(zip(names, values, strict=True)):

            def compute(angle: float = float(angle), index: int = index) -> float:
                return _exponents(angle)[index]

            key = f"notch-{name.replace(' ', '-')}-{angle}"
            title = f"{name} at {angle} deg"
            yield _check(key, title, "notch-derivation", "characteristic equations", "derived", expected, compute)


def _energy_checks() -> Iterator[VerificationCase]:
    for angle, *values in _rows(_ENERGIES):
        for index, expected in enumerate(values):

            def compute(angle: float = float(angle), index: int = index) -> float:
                return float(energy_coefficients(angle).as_array()[index])

            key, title = (
                f"notch-e{index + 1}-{angle}",
                f"energy coefficient e{index + 1} at {angle} deg, exact",
            )
            yield _check(key, title, "notch-derivation", "integral over the sector", "derived", expected, compute)


def _fit_checks() -> Iterator[VerificationCase]:
    cases = (
        ("e1", "0", "0.133", fit_coefficient_opening),
        ("e1", "90", "0.145", fit_coefficient_opening),
        ("e1", "135", "0.118", fit_coefficient_opening),
        ("e2", "0", "0.340", fit_coefficient_sliding),
        ("e2", "90", "0.168", fit_coefficient_sliding),
    )
    for name, angle, expected, fit in cases:
        key, title = f"notch-fit-{name}-{angle}", f"published fit of {name} at {angle} deg"

        def compute(fit: Callable[[float], object] = fit, angle: float = float(angle)) -> float:
            return float(fit(angle))  # type: ignore[arg-type]

        yield _check(key, title, "energy-coefficient-fits", "printed values", "from memory", expected, compute)
    for angle, expected in (("0", "0.414"), ("90", "0.310"), ("135", "0.259")):
        key, title = f"notch-printed-e3-{angle}", f"printed e3 at {angle} deg"

        def tearing(angle: float = float(angle)) -> float:
            return energy_coefficients(angle).tearing

        yield _check(key, title, "energy-coefficient-fits", "printed values", "from memory", expected, tearing)


def _integral_checks() -> Iterator[VerificationCase]:
    # I = 4 lambda gamma e with lambda = 1/2, gamma = pi at a crack
    for index, expected in ((0, "0.8450"), (1, "2.1450")):

        def compute(index: int = index) -> float:
            return float(energy_coefficients(0.0).as_array()[index]) * 2.0 * 3.141592653589793

        key, title = f"notch-integral-i{index + 1}", f"integral I{index + 1} of a crack, plane strain"
        yield _check(key, title, "energy-coefficients-2001", "table", "from memory", expected, compute)


def _radius(intensity: float, stress: float, angle: float, e1: float) -> float:
    return float(control_radius(intensity, stress, opening_angle_deg=angle, energy_coefficient=e1))


def _radius_checks() -> Iterator[VerificationCase]:
    source = "control-radius-2005"
    for e1, expected in ((0.118, "0.282"), (0.117, "0.278")):
        title = f"control radius of steel, e1 = {e1}"
        compute = partial(_radius, 211.0, 155.0, 135.0, e1)
        yield _check(f"radius-steel-{e1}", title, source, "calibration", "derived", expected, compute)
    for e1, expected in ((0.118, "0.120"), (0.117, "0.119")):
        title = f"control radius of aluminium, e1 = {e1}"
        compute = partial(_radius, 99.0, 96.0, 135.0, e1)
        yield _check(f"radius-aluminium-{e1}", title, source, "calibration", "derived", expected, compute)
    compute = partial(_radius, 130.0, 151.0, 0.0, 0.133)
    title, source = "control radius of austenitic steel", "austenitic-energy-2026"
    yield _check("radius-austenitic", title, source, "eq. 3, own arithmetic", "derived", "0.1972", compute)
    yield _check(
        "radius-austenitic-printed",
        title,
        source,
        "printed value",
        "read",
        "0.1954",
        compute,
        tolerance=0.002,
        why="the printed intensity range 130 is rounded; 129.42 gives the printed radius",
    )
    compute = partial(_radius, 129.42, 151.0, 0.0, 0.133)
    title = "the same with an intensity range of 129.42"
    yield _check("radius-austenitic-unrounded", title, source, "own arithmetic", "derived", "0.1954", compute)


def _mean_stress_checks() -> Iterator[VerificationCase]:
    for ratio, expected in _LOAD_RATIOS.items():
        key, title = f"mean-stress-{ratio}", f"mean-stress coefficient at load ratio {ratio}"

        def compute(ratio: float = float(ratio)) -> float:
            return float(mean_stress_coefficient(ratio))

        yield _check(key, title, "energy-mean-stress-2004", "both branches", "derived", expected, compute)


def _limit_checks() -> Iterator[VerificationCase]:
    title = "opening angle from which sliding is not singular"

    def limit() -> float:
        return notch_constants(0.0).sliding_limit_angle_deg

    yield _check("notch-sliding-limit", title, "notch-derivation", "tan x = x", "derived", "102.547", limit)
    title = "digits behind the comma of mm^(1 - lambda) at a 135 deg toe"

    def power() -> float:
        return 1.0 - notch_constants(135.0).eigenvalues.opening

    yield _check("notch-toe-unit", title, "notch-derivation", "unit of K1", "derived", "0.326", power)
    title = "e1 of a crack, closed form (1 + nu)(5 - 8 nu)/(8 pi) at nu = 0.25"

    def closed() -> float:
        return float(energy_coefficient_opening(0.0, 0.25))

    yield _check("notch-e1-closed", title, "notch-derivation", "closed form", "derived", "0.14921", closed)


CASES: tuple[VerificationCase, ...] = (
    *_exponent_checks(),
    *_limit_checks(),
    *_energy_checks(),
    *_fit_checks(),
    *_integral_checks(),
    *_radius_checks(),
    *_mean_stress_checks(),
)
