"""Lines through published series of tests."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import cache, partial

import numpy as np

from fatcore.require import FloatArray
from fatcore.trials.sn.bounds import bounds_at
from fatcore.trials.sn.factors import fisher, iso_factor, prediction_factor, student, tolerance_factor
from fatcore.trials.sn.fit import SnFit, fit_line
from fatcore.trials.sn.likelihood import Distribution, Likelihood, maximum_likelihood
from fatcore.trials.sn.line import SnOutcome, evaluate_series
from fatcore.trials.sn.linearity import LackOfFit, lack_of_fit
from fatcore.trials.sn.series import TrialSeries
from fatcore.verification.case import VerificationCase
from fatcore.verification.trials._cases import check

_E739, _EXAMPLE = "astm-e739-10", "worked example: plastic strain amplitude and cycles, nine specimens"
_STRAIN = (0.01636, 0.01609, 0.00675, 0.00682, 0.00179, 0.00160, 0.00165, 0.00053, 0.00054)
_CYCLES = (168.0, 200.0, 1000.0, 1180.0, 4730.0, 8035.0, 5254.0, 28617.0, 32650.0)
_LEVELS = (0, 0, 1, 1, 2, 2, 2, 3, 3)

_ALLOY = "meeker-escobar-1998"
# pseudo-stress in ksi, kilocycles, whether it failed
_TESTS = (
    (80.3, 211.629, 1), (80.6, 200.027, 1), (80.8, 57.923, 0), (84.3, 155.0, 1), (85.2, 13.949, 1),
    (85.6, 112.968, 0), (85.8, 152.68, 1), (86.4, 156.725, 1), (86.7, 138.114, 0), (87.2, 56.723, 1),
    (87.3, 121.075, 1), (89.7, 122.372, 0), (91.3, 112.002, 1), (99.8, 43.331, 1), (100.1, 12.076, 1),
    (100.5, 13.181, 1), (113.0, 18.067, 1), (114.8, 21.3, 1), (116.4, 15.616, 1), (118.0, 13.03, 1),
    (118.4, 8.489, 1), (118.6, 12.434, 1), (120.4, 9.75, 1), (142.5, 11.865, 1), (144.5, 6.705, 1), (145.9, 5.733, 1),
)  # fmt: skip


@cache
def _example() -> TrialSeries:
    return TrialSeries(range_mpa=np.array(_STRAIN), life_cycles=np.array(_CYCLES))


@cache
def _line() -> SnFit:
    return fit_line(_example())


@cache
def _evaluated() -> SnOutcome:
    return evaluate_series(_example(), rule="tolerance", survival_probability=0.95, confidence=0.95)


def _linearity() -> LackOfFit:
    found = lack_of_fit(_example(), _line(), np.array(_LEVELS, dtype=np.float64))
    assert found is not None
    return found


def _half_band() -> float:
    found = bounds_at(_line(), np.log10([0.01]), 0.95, 0.95)
    return float(found.band_high[0] - found.median[0])


def _worked_example() -> Iterator[VerificationCase]:
    printed: list[tuple[str, str, str, Callable[[], float]]] = [
        ("intercept", "constant A of the line", "-0.24474", lambda: _line().log10_constant),
        ("slope", "slope B of the line", "-1.45144", lambda: -_line().slope),
        ("variance", "variance about the line", "0.011195", lambda: _line().sd_log10_cycles ** 2),
        ("deviation", "standard deviation about the line", "0.10581", lambda: _line().sd_log10_cycles),
        ("intercept-low", "95 % interval of A, lower end", "-0.6435", lambda: _evaluated().log10_constant_low),
        ("intercept-high", "95 % interval of A, upper end", "0.1540", lambda: _evaluated().log10_constant_high),
        ("slope-high", "95 % interval of B, upper end", "-1.2974", lambda: -_evaluated().slope_low),
        ("t", "quantile of t, 7 degrees of freedom, 95 % both sides", "2.3646", lambda: student(7, 0.95)),
        ("linearity", "F of the test of linearity", "3.62", lambda: _linearity().statistic),
        ("linearity-limit", "F of 2 and 5 degrees of freedom at 95 %", "5.79", lambda: fisher(2, 5, 0.95)),
        ("band-limit", "F of 2 and 7 degrees of freedom at 95 %", "4.7374", lambda: fisher(2, 7, 0.95)),
    ]
    for number, title, expected, compute in printed:
        yield check(f"e739-{number}", title, _E739, _EXAMPLE, expected, compute)
    yield check(
        "e739-slope-low",
        "95 % interval of B, lower end",
        _E739,
        _EXAMPLE,
        "-1.6054",
        lambda: -_evaluated().slope_high,
        tolerance=1e-4,
        why="the document computes with rounded t and s",
    )
    yield check("e739-band", "half of the band at 0.01", _E739, _EXAMPLE, "0.1522", _half_band, status="derived")
    yield from _lower_limits()


def _lower_limits() -> Iterator[VerificationCase]:
    printed = {0.001: ("2.0704", "3.2964", "3.4831"), 0.0005: ("2.1894", "3.4925", "3.6832")}
    kinds: tuple[tuple[str, str, Callable[[float], float]], ...] = (
        ("prediction", "tolerance-factor", lambda leverage: prediction_factor(7, leverage, 0.95)),
        ("tolerance", "tolerance-factor", lambda leverage: tolerance_factor(7, leverage, 0.95, 0.95)),
        ("iso", "iso-12107-2012", lambda leverage: iso_factor(7, leverage, 0.95, 0.95)),
    )
    for strain, factors in printed.items():
        for (name, source, factor), expected in zip(kinds, factors, strict=True):
            yield check(
                f"e739-{name}-{strain:g}",
                f"factor of the {name} limit of the line at {strain:g}, 95 % survival, 95 % confidence",
                source,
                f"formula, on the {_EXAMPLE}",
                expected,
                partial(_factor_at, strain, factor),
                status="derived",
            )


def _factor_at(strain: float, factor: Callable[[float], float]) -> float:
    return factor(float(_line().leverage(np.log10(strain))))


@cache
def _likelihood(powers: int, distribution: Distribution) -> Likelihood:
    stress, life, failed = (np.array(column) for column in zip(*_TESTS, strict=True))
    x, y = np.log(stress), np.log(life)
    design: FloatArray = np.stack([x**power for power in range(powers + 1)], axis=1)
    return maximum_likelihood(y[np.newaxis], design, failed[np.newaxis] > 0, distribution)


def _coefficient(powers: int, distribution: Distribution, place: int) -> Callable[[], float]:
    return lambda: float(_likelihood(powers, distribution).location[0, place])


def _scale(powers: int, distribution: Distribution) -> Callable[[], float]:
    return lambda: float(_likelihood(powers, distribution).scale[0])


@cache
def _series() -> SnFit:
    stress, life, failed = (np.array(column) for column in zip(*_TESTS, strict=True))
    return fit_line(TrialSeries(range_mpa=stress, life_cycles=1e3 * life, run_out=failed == 0))


def _superalloy() -> Iterator[VerificationCase]:
    extreme: Distribution = "smallest-extreme-value"
    data = "nickel superalloy, 26 specimens, 4 run-outs"
    published = [
        (str(place), expected, _coefficient(2, extreme, place))
        for place, expected in enumerate(("217.61", "-85.52", "8.48"))
    ]
    published.append(("scale", "0.375", _scale(2, extreme)))
    for name, expected, compute in published:
        title = f"{data}: Weibull lives, quadratic line, coefficient {name}"
        yield check(f"superalloy-quadratic-{name}", title, _ALLOY, "analyses of table C.12", expected, compute)
    derived: list[tuple[str, str, Callable[[], float]]] = [
        ("Weibull, straight line, slope", "-5.960", _coefficient(1, extreme, 1)),
        ("Weibull, straight line, scale", "0.45239", _scale(1, extreme)),
        ("lognormal, straight line, constant", "31.1835", _coefficient(1, "normal", 0)),
        ("lognormal, straight line, slope", "-5.9611", _coefficient(1, "normal", 1)),
        ("lognormal, straight line, scale", "0.68092", _scale(1, "normal")),
        ("the same as a series, log10 constant", "16.54282", lambda: _series().log10_constant),
        ("the same as a series, slope", "5.96112", lambda: _series().slope),
        ("the same as a series, scatter of log10 life", "0.29572", lambda: _series().likelihood_scatter),
    ]
    for place, (name, expected, compute) in enumerate(derived):
        where = "maximum of the likelihood, computed independently"
        title = f"{data}: {name}"
        yield check(
            f"superalloy-{place}", title, "location-scale-likelihood", where, expected, compute, status="derived"
        )


CASES = (*_worked_example(), *_superalloy())
