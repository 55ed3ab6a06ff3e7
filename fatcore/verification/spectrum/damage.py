"""Checks of damage sums, long-term distributions, standard spectra, crane classes and interaction."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

import numpy as np

from fatcore.curves.curve import Curve
from fatcore.curves.standards import catalogue
from fatcore.sources import Status
from fatcore.spectrum.damage.below_knee import BelowKnee
from fatcore.spectrum.damage.combined import combined_damage
from fatcore.spectrum.damage.linear import DamageSum, damage_sum
from fatcore.spectrum.damage.long_term import allowable_largest_range, weibull_scale
from fatcore.spectrum.damage.shapes import (
    crane_class,
    exceedances,
    mean_power,
    published_step_counts,
    step_amplitudes,
)
from fatcore.spectrum.damage.weibull import segment_moment
from fatcore.verification.case import VerificationCase

BLOCKS = ((120.0, 80.0, 40.0, 30.0), (1e4, 1e5, 1e6, 2e6))
STEPS = ("1", "3.84592", "46.2381", "701.859", "10381.3", "82461.3", "351763", "805842")
LONG_TERM = {200.0: ("10.857362", "0.31139121", "0.52641010")}
LONG_TERM |= {300.0: ("16.286043", "1.42938100", "1.77663408")}
CLASS_B1 = {0.8: ("704.7", 0.05), 1.0: ("512.9", 0.05), 1.1: ("451.4", 0.05)}


def _cases() -> Iterator[VerificationCase]:
    """All checks of this file."""
    yield from _forms()
    yield from _weibull()
    yield from _largest_ranges()
    yield from _spectra()
    yield from _cranes()
    yield from _interaction()


def _check(
    name: str,
    source: str,
    where: str,
    expected: str,
    compute: Callable[[], float],
    status: Status = "derived",
    tolerance: float | None = None,
) -> VerificationCase:
    return VerificationCase(
        id=f"spectrum-{name}",
        title=name.replace("-", " "),
        source=source,
        where=where,
        status=status,
        expected=expected,
        compute=compute,
        tolerance=tolerance,
    )


def _forms() -> Iterator[VerificationCase]:
    knee = Curve(
        id="own",
        source="own-curve",
        log10_constants=(math.log10(1e7 * 50.0**3),),
        slopes=(3.0,),
        cut_off_mpa=50.0,
    )

    def summed(form: BelowKnee) -> DamageSum:
        return damage_sum(*BLOCKS, knee, below_knee=form, damage_limit=1.0)

    def passes(form: BelowKnee) -> float:
        return summed(form).life_repeats or 0.0

    def constant(form: BelowKnee) -> float:
        return summed(form).equivalent_range_mpa

    where = "slope 3 to 50 MPa at 1e7; blocks 120 MPa 1e4, 80 1e5, 40 1e6, 30 2e6"
    source = "below-knee-forms"
    yield _check("original", source, where, "0.05478400", lambda: summed("original").damage)
    yield _check("original-passes", source, where, "18.2535", lambda: passes("original"))
    yield _check("reduced-slope", source, where, "0.10310400", lambda: summed("reduced-slope").damage)
    yield _check("reduced-slope-passes", source, where, "9.6989", lambda: passes("reduced-slope"))
    yield _check("equivalent-elementary", "iiw-2016", where, "39.140283", lambda: constant("elementary"))
    yield _check(
        "equivalent-two-slopes",
        "iiw-2016",
        where,
        "34.605228",
        lambda: constant("reduced-slope"),
    )


def class_d_damage(scale_mpa: float, shape: float, cycles: float, *, one_slope: bool = False) -> float:
    """Weibull damage on class D in air with both printed constants, knee from the first one.

    The catalogue joins the branches at the knee, which moves the second constant by 0.0007 in log10; the
    expected values belong to the printed one.
    """
    knee = 10.0 ** ((12.164 - 7.0) / 3.0)
    if one_slope:
        return float(cycles * segment_moment(3.0, scale_mpa, shape, 0.0, np.inf) / 10.0**12.164)
    upper = segment_moment(3.0, scale_mpa, shape, knee, np.inf) / 10.0**12.164
    return float(cycles * (upper + segment_moment(5.0, scale_mpa, shape, 0.0, knee) / 10.0**15.606))


def _weibull() -> Iterator[VerificationCase]:
    for largest, (scale, two, one) in LONG_TERM.items():
        where = f"class D in air, printed constants, 1e8 cycles, shape 1, largest range {largest:g} MPa"

        def q(largest: float = largest) -> float:
            return weibull_scale(largest, 1e8, 1.0)

        def on_two(q: Callable[[], float] = q) -> float:
            return class_d_damage(q(), 1.0, 1e8)

        def on_one(q: Callable[[], float] = q) -> float:
            return class_d_damage(q(), 1.0, 1e8, one_slope=True)

        source = "weibull-range-distribution"
        yield _check(f"weibull-scale-{largest:g}", source, where, scale, q)
        yield _check(f"weibull-two-slopes-{largest:g}", source, where, two, on_two)
        yield _check(f"weibull-one-slope-{largest:g}", source, where, one, on_one)


def _largest_ranges() -> Iterator[VerificationCase]:
    for shape, (printed, tolerance) in CLASS_B1.items():

        def allowed(shape: float = shape) -> float:
            return allowable_largest_range(1e8, shape, catalogue.find_curve("dnv-rp-c203-2016-b1-air"))

        where = f"largest range in 1e8 cycles at damage 1, class B1 in air, shape {shape}"
        yield _check(f"largest-range-b1-{shape}", "dnv-rp-c203-2016", where, printed, allowed, "from memory", tolerance)


def _spectra() -> Iterator[VerificationCase]:
    for step, printed in enumerate(STEPS):

        def cumulative(step: int = step) -> float:
            return float(exceedances(step_amplitudes()[step], 1e6, 2.0))

        where = f"1e6 cycles, shape 2, cumulative cycles at step {step + 1}"
        yield _check(f"shape-2-step-{step + 1}", "standard-spectra", where, printed, cumulative)
    for slope, power, ratio in ((3.0, "0.025887242", "0.29582072"), (5.0, "0.0046844527", "0.34208322")):

        def mean(slope: float = slope) -> float:
            return float(mean_power(slope, 1e6, 2.0))

        def root(slope: float = slope) -> float:
            return float(mean_power(slope, 1e6, 2.0) ** (1.0 / slope))

        where = f"1e6 cycles, shape 2, slope {slope:g}"
        yield _check(f"mean-power-{slope:g}", "standard-spectra", where, power, mean)
        yield _check(f"equivalent-ratio-{slope:g}", "standard-spectra", where, ratio, root)
    where = "sum of the eight published step counts"
    yield _check("block-programme", "block-programme", where, "1000016", published_step_counts().sum)


def _cranes() -> Iterator[VerificationCase]:
    where = "classes Q3 and U6: 0.25 * 1e6 / 2e6"
    yield _check("crane-q3-u6", "en-13001", where, "0.125", lambda: crane_class("Q3", "U6").history_parameter)

    def is_s4() -> float:
        return float(crane_class("Q3", "U6").history_class == "S4")

    yield _check("crane-class-q3-u6", "en-13001", "history class S4 (1: equal)", "1", is_s4)


def _interaction() -> Iterator[VerificationCase]:
    normal = Curve(id="own", source="own-curve", log10_constants=(12.0,), slopes=(3.0,))
    shear = Curve(id="own", source="own-curve", log10_constants=(16.0,), slopes=(5.0,))

    def en() -> float:
        return combined_damage(0.8**3, 0.7**5, normal, shear).interaction_sum

    def iiw() -> float:
        both = combined_damage(0.8**3, 0.6**5, normal, shear, form="iiw-2016", proportional=True)
        return both.interaction_sum

    yield _check("combined-en", "interaction-en-1993-1-9", "utilisations 0.8 and 0.7", "0.68007", en)
    yield _check("combined-iiw", "interaction-iiw-2016", "utilisations 0.8 and 0.6", "1.000000000", iiw)


CASES = tuple(_cases())
