"""Survival: scatter indices, tolerance limits against quadrature, findings that state every assumption."""

from __future__ import annotations

import math

import mpmath
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, stats

from fatcore.curves.corrections.survival import (
    at_survival,
    convert_index,
    index_of_scatter,
    scatter_of_index,
    tolerance_deviations,
)
from fatcore.curves.curve import Curve
from fatcore.curves.deviations import deviations, power_of_ten
from fatcore.curves.standards.catalogue import find_curve
from fatcore.errors import InputError, NotCoveredError
from fatcore.figures import figure

EN, IIW, DNV = "en-1993-1-9-2005-normal-71", "iiw-2016-normal-steel-90", "dnv-rp-c203-2016-d-air"


def codes(curve_id: str, probability: float) -> set[str]:
    return {each.code for each in at_survival(find_curve(curve_id), probability).findings}


@pytest.mark.parametrize("probability", [0.001, 0.1, 0.5, 0.9, 0.95, 0.99865])
def test_deviations_against_the_error_function(probability: float) -> None:
    assert float(mpmath.ncdf(deviations(probability))) == pytest.approx(probability, rel=1e-13)


def test_the_rounded_name_of_two_deviations() -> None:
    assert deviations(0.977) == 2.0
    assert deviations(0.97725) == pytest.approx(2.0, abs=1e-3)


@pytest.mark.parametrize("bad", [0.0, 1.0, -0.1, math.nan])
def test_refused_probabilities(bad: float) -> None:
    with pytest.raises(InputError) as caught:
        deviations(bad)
    assert caught.value.path == ("survival_probability",)


@given(st.floats(1.0, 10.0), st.floats(1.0, 9.0), st.sampled_from([0.9, 0.95, 0.977]))
def test_index_and_scatter_are_inverses(index: float, slope: float, upper: float) -> None:
    scatter = scatter_of_index(index, slope, upper_survival=upper)
    assert index_of_scatter(scatter, slope, upper_survival=upper) == pytest.approx(index, rel=1e-12)
    if scatter < 1e-6:
        return
    # straight from the definition: strengths at both survival probabilities on one line
    line = Curve.from_point(
        id="x", source="own-curve", range_mpa=100.0, slopes=(slope,), survival_probability=0.5,
        sd_log10_cycles=scatter,
    )  # fmt: skip
    weak = line.at_survival(upper).reference_range_mpa()
    assert (100.0 / weak) ** 2 == pytest.approx(index, rel=1e-11)


def test_index_in_other_terms() -> None:
    there = convert_index(1.5, from_survival=0.9, to_survival=0.977)
    assert convert_index(there, from_survival=0.977, to_survival=0.9) == pytest.approx(1.5, rel=1e-13)


def test_refused_indices() -> None:
    for bad in (0.9, math.nan, math.inf):
        with pytest.raises(InputError):
            scatter_of_index(bad, 3.0)
    with pytest.raises(InputError) as caught:
        scatter_of_index(1.5, 3.0, upper_survival=0.5)
    assert caught.value.path == ("upper_survival",)
    for scatter in (-0.1, math.nan, 1e9):
        with pytest.raises(InputError):
            index_of_scatter(scatter, 3.0)
    with pytest.raises(InputError):
        index_of_scatter(0.2, 0.0)
    with pytest.raises(InputError):
        power_of_ten("x", math.nan)


def coverage(sample_size: int, factor: float, survival: float) -> float:
    """Chance that mean - factor * sd of a normal sample lies below the quantile: integral over the sd."""
    freedom = sample_size - 1
    z = stats.norm.ppf(survival)

    def integrand(spread: float) -> float:
        return float(
            stats.norm.cdf(math.sqrt(sample_size) * (factor * spread - z))
            * stats.chi.pdf(spread * math.sqrt(freedom), freedom)
            * math.sqrt(freedom)
        )

    return float(integrate.quad(integrand, 0.0, 6.0, epsabs=1e-12)[0])


@pytest.mark.parametrize(("size", "survival", "confidence"), [(5, 0.95, 0.75), (14, 0.95, 0.75), (40, 0.9, 0.95)])
def test_tolerance_factor_against_quadrature(size: int, survival: float, confidence: float) -> None:
    factor = tolerance_deviations(size, survival, confidence)
    assert coverage(size, factor, survival) == pytest.approx(confidence, abs=1e-8)


def test_the_two_definitions_agree_for_one_sample_size_only() -> None:
    factors = [tolerance_deviations(n, 0.95, 0.75) for n in range(5, 40)]
    assert factors == sorted(factors, reverse=True)
    assert tolerance_deviations(14, 0.95, 0.75) > 2.0 > tolerance_deviations(15, 0.95, 0.75)
    assert tolerance_deviations(10**6, 0.95, 0.75) == pytest.approx(deviations(0.95), abs=2e-3)


def test_refused_samples() -> None:
    with pytest.raises(InputError):
        tolerance_deviations(1, 0.95, 0.75)
    with pytest.raises(InputError):
        tolerance_deviations(10, 0.95, 1.0)


def test_what_is_stated() -> None:
    assert codes(DNV, 0.5) == {"survival-moved"}
    assert codes("peak-stress-opening", 0.5) == {"survival-moved"}
    assert codes("iso-19902-2007-d-seawater-protected", 0.5) == {"survival-moved", "scatter-not-tabulated"}
    assert codes(EN, 0.5) == {"survival-moved", "scatter-not-tabulated", "survival-definition"}
    assert codes(IIW, 0.5) == codes(EN, 0.5)
    assert codes(DNV, 0.977) == set()
    assert codes(EN, 0.95) == set()


def test_a_curve_at_its_own_survival_stays() -> None:
    found = at_survival(find_curve(DNV), 0.977)
    assert found.curve is find_curve(DNV)
    assert (found.strength_factor, found.sources) == (1.0, ("dnv-rp-c203-2016",))


def test_factor_on_strength() -> None:
    found = at_survival(find_curve(DNV), 0.5)
    assert found.strength_factor == pytest.approx(10 ** (2 * 0.2 / 3), rel=1e-12)
    assert found.curve.reference_range_mpa() == pytest.approx(
        found.strength_factor * find_curve(DNV).reference_range_mpa(), rel=1e-12
    )
    assert (found.deviations_from, found.deviations_to, found.sd_log10_cycles) == (2.0, 0.0, 0.2)
    assert found.curve.survival_definition.startswith("moved from 0.977")


OWN_MEAN = Curve.from_point(
    id="x", source="own-curve", range_mpa=100.0, slopes=(3.0,), survival_probability=0.5, sd_log10_cycles=0.2
)


def test_a_known_sample_size_lowers_an_own_line_to_its_tolerance_limit() -> None:
    found = at_survival(OWN_MEAN, 0.95, sample_size=10)
    assert found.deviations_to == pytest.approx(2.104, abs=5e-4)  # [tolerance-factor], table value
    assert "tolerance-factor" in found.sources
    (moved,) = (each for each in found.findings if each.code == "survival-moved")
    assert "75 % confidence by 10 tests" in moved.message
    assert "2.10 standard" in moved.message


def test_no_sample_size_moves_a_line_up_and_more_tests_never_lower_it() -> None:
    for goal in (0.1, 0.5, 0.9, 0.977, 0.999):
        plain = at_survival(OWN_MEAN, goal).strength_factor
        factors = [at_survival(OWN_MEAN, goal, sample_size=n).strength_factor for n in (2, 5, 30, 1000)]
        assert factors == sorted(factors)
        assert factors[-1] <= plain


def test_a_sample_size_is_refused_where_the_document_states_no_tests() -> None:
    for curve_id in (EN, IIW, DNV):
        with pytest.raises(NotCoveredError) as caught:
            at_survival(find_curve(curve_id), 0.5, sample_size=10)
        assert caught.value.path == ("sample_size",)


def test_the_finding_says_by_which_rule_the_line_was_placed() -> None:
    found = at_survival(find_curve(EN), 0.977)
    (placed,) = (each for each in found.findings if each.code == "survival-definition")
    assert f"placed {figure(found.deviations_from)} deviations" in placed.message
    assert "by its stated probability" in placed.message
    assert (placed.source, placed.field) == ("normal-quantile", "survival_probability")
    assert "tolerance-factor" not in found.sources


def test_no_start_no_move() -> None:
    with pytest.raises(NotCoveredError):
        at_survival(Curve.from_point(id="x", source="own-curve", range_mpa=80.0, slopes=(3,)), 0.5)
    wild = Curve.from_point(
        id="x", source="own-curve", range_mpa=80.0, slopes=(3,), survival_probability=0.5, sd_log10_cycles=1e9
    )
    with pytest.raises(InputError) as caught:
        at_survival(wild, 0.9)
    assert caught.value.path == ("sd_log10_cycles",)
