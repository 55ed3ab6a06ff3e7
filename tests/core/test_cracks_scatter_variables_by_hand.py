"""Random variables of a scatter by hand: numbers of a generator that is known, moments, what a kind takes.

Moments of the Weibull variable by the gamma function of the standard library, of the lognormal one by its definition.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from fatcore.cracks.configurations.plates import SurfaceCrack
from fatcore.cracks.configurations.stress_field import Stress
from fatcore.cracks.driving.law import GrowthLaw, paris
from fatcore.cracks.scatter._inputs import choose_first_size, spread_findings, stage_findings
from fatcore.cracks.scatter.random_variables import VARIABLES, Distribution, drawn, published_variables, weibull_shape
from fatcore.errors import InputError, UnknownError

CRACK = SurfaceCrack(depth_mm=0.15, half_length_mm=0.3, thickness_mm=12.0, half_width_mm=60.0)
ONE = Distribution(kind="fixed", mean=1.0)


class Known:
    """A generator whose numbers are given."""

    def __init__(self, *values: float) -> None:
        self.values = np.array(values)

    def standard_normal(self, count: int) -> Any:
        return self.values[:count]

    standard_exponential = standard_normal

    def weibull(self, shape: float, count: int) -> Any:
        return shape * self.values[:count]


def sampled(variable: Distribution, *values: float) -> list[float]:
    return variable.sample(Known(*values), len(values)).tolist()  # type: ignore[arg-type]


def refused(**fields: Any) -> tuple[str, tuple[Any, ...]]:
    with pytest.raises(InputError) as caught:
        Distribution(**fields)
    return str(caught.value), caught.value.path


def test_a_lognormal_variable_is_its_median_times_powers_of_e() -> None:
    by_median = Distribution(kind="lognormal", median=2.0, log_deviation=0.5)
    assert sampled(by_median, -2.0, 0.0, 1.0) == pytest.approx([2.0 / math.e, 2.0, 2.0 * math.exp(0.5)])
    assert by_median.middle == 2.0
    by_mean = Distribution(kind="lognormal", mean=2.0, log_deviation=0.5)
    assert by_mean.middle == pytest.approx(2.0 * math.exp(-0.125))
    assert by_mean.logarithmic_deviation == 0.5
    by_variation = Distribution(kind="lognormal", mean=2.0, variation=0.75)  # 1 + 0.75^2 = (5/4)^2
    assert by_variation.logarithmic_deviation == pytest.approx(math.sqrt(2.0 * math.log(1.25)))
    assert by_variation.middle == pytest.approx(2.0 / 1.25)
    assert sampled(by_variation, 0.0) == pytest.approx([1.6])


@pytest.mark.parametrize(
    ("kind", "variation"), [("normal", 0.4), ("weibull", 0.4), ("exponential", None), ("fixed", None)]
)
def test_the_middle_of_other_variables_is_their_mean(kind: Any, variation: float | None) -> None:
    assert Distribution(kind=kind, mean=3.0, variation=variation).middle == 3.0


def test_a_normal_variable_is_cut_at_a_thousandth_of_its_mean() -> None:
    normal = Distribution(kind="normal", mean=5.0, variation=0.2)
    assert sampled(normal, 0.0, 1.0, -2.0, -4.9, -5.0, -9.0) == pytest.approx([5.0, 6.0, 3.0, 0.1, 0.005, 0.005])


def test_an_exponential_variable_is_a_multiple_of_its_mean_and_never_zero() -> None:
    assert sampled(Distribution(kind="exponential", mean=5.0), 0.0, 0.5, 2.0) == pytest.approx([5e-9, 2.5, 10.0])


def test_a_weibull_variable_has_its_mean() -> None:
    """Variation 1 is the exponential variable (shape 1); shape 2 has sqrt(4 / pi - 1), its mean sqrt(pi) / 2."""
    assert sampled(Distribution(kind="weibull", mean=5.0, variation=1.0), 1.0, 3.0) == pytest.approx([5.0, 15.0])
    rayleigh = Distribution(kind="weibull", mean=5.0, variation=math.sqrt(4.0 / math.pi - 1.0))
    assert sampled(rayleigh, 1.0) == pytest.approx([2.0 * 5.0 / (math.sqrt(math.pi) / 2.0)])
    assert sampled(ONE, 7.0, 8.0) == [1.0, 1.0]


@pytest.mark.parametrize("variation", [10.0, 3.0, 0.01, 0.002, 1.01e-4, 0.99e-4, 1e-6])
def test_a_weibull_variable_has_its_variation_however_wide_or_narrow(variation: float) -> None:
    """First terms of the series where the gamma function leaves no figures: pi^2 / 6 / shape^2."""
    shape = weibull_shape(variation)
    if variation < 0.0005:
        found = math.pi / math.sqrt(6.0) / shape
    else:
        found = math.sqrt(math.gamma(1.0 + 2.0 / shape) / math.gamma(1.0 + 1.0 / shape) ** 2 - 1.0)
    assert found == pytest.approx(variation, rel=2e-4 if variation < 0.0005 else 1e-6)


def test_a_variable_takes_what_its_kind_needs_and_no_more() -> None:
    for kind in ("lognormal", "normal", "weibull"):
        assert refused(kind=kind, mean=1.0) == (f"a {kind} variable needs its variation", ("variation",))
    assert Distribution(kind="lognormal", median=1.0, log_deviation=0.3)
    for given in ({"median": 1.0}, {"mean": 1.0, "log_deviation": 0.1}):
        assert refused(kind="fixed", **given)[1] == ("median",)
    message, path = refused(kind="normal", mean=1.0, variation=0.1, log_deviation=0.1)
    assert (message, path) == ("median and log_deviation belong to a lognormal variable", ("median",))
    both = {"mean": 1.0, "median": 1.0, "variation": 0.1}
    assert refused(kind="lognormal", **both) == ("give the mean, or the median of a lognormal variable", ("mean",))
    assert refused(kind="lognormal", variation=0.1)[1] == ("mean",)
    for kind in ("exponential", "fixed"):
        assert refused(kind=kind, mean=1.0, variation=0.1) == (f"{kind} takes no variation", ("variation",))
    two = {"mean": 1.0, "variation": 0.1, "log_deviation": 0.1}
    assert refused(kind="lognormal", **two) == ("give the variation or log_deviation, not both", ("log_deviation",))


@pytest.mark.parametrize("name", ["variation", "log_deviation"])
def test_a_variation_lies_between_nothing_and_ten(name: str) -> None:
    assert Distribution(kind="lognormal", mean=1.0, **{name: 10.0})  # type: ignore[arg-type]
    for wrong in (0.0, 10.001):
        assert refused(kind="lognormal", mean=1.0, **{name: wrong})[1] == (name,)


def test_variables_are_drawn_in_one_order_whatever_order_they_are_given_in() -> None:
    normal = Distribution(kind="normal", mean=1.0, variation=0.1)
    given = {"stress_factor": normal, "depth_mm": normal}
    columns = drawn(given, np.random.default_rng(4), 3)
    plain = np.random.default_rng(4).standard_normal(6)
    assert list(columns) == ["depth_mm", "stress_factor"]
    assert columns["depth_mm"] == pytest.approx(1.0 + 0.1 * plain[:3])
    assert columns["stress_factor"] == pytest.approx(1.0 + 0.1 * plain[3:])
    with pytest.raises(UnknownError) as caught:
        drawn({"width": ONE}, np.random.default_rng(4), 3)
    assert caught.value.path == ("variables", "width")
    assert all(name in str(caught.value) for name in VARIABLES)


def test_an_unknown_set_names_those_that_are_published() -> None:
    with pytest.raises(UnknownError, match="dnv-rp-c210, jcss-part3"):
        published_variables("dnv")
    assert set(published_variables("jcss-part3")) <= set(VARIABLES)


# which inputs count


def test_what_the_variables_leave_open_stays_that_of_the_crack() -> None:
    depth = {"depth_mm": Distribution(kind="lognormal", median=0.25, log_deviation=0.3), "stress_factor": ONE}
    chosen, (found,) = choose_first_size(CRACK, depth, "variables")
    assert chosen == depth
    assert (found.code, found.field, found.severity) == ("first-size-drawn", "first_size", "note")
    expected = "depth_mm with median 0.25, not 0.15 of the crack; aspect_ratio 0.5 of the crack stays"
    assert found.message == f"the first size was drawn: {expected}"
    shape = {"aspect_ratio": Distribution(kind="normal", mean=0.8, variation=0.4)}
    _, (found,) = choose_first_size(CRACK, shape, "variables")
    assert "aspect_ratio with mean 0.8, not 0.5 of the crack; depth_mm 0.15 of the crack stays" in found.message
    _, (found,) = choose_first_size(CRACK, depth | shape, "variables")
    assert found.message.endswith(
        "depth_mm with median 0.25, not 0.15, aspect_ratio with mean 0.8, not 0.5 of the crack"
    )


def test_variables_of_the_first_size_are_left_out_or_asked_about() -> None:
    both = {"depth_mm": ONE, "stress_factor": ONE, "aspect_ratio": ONE}
    left, (found,) = choose_first_size(CRACK, both, "crack")
    assert left == {"stress_factor": ONE}
    assert (found.code, found.field) == ("first-size-of-crack", "first_size")
    assert found.message.startswith("depth_mm and aspect_ratio of the variables were left out")
    with pytest.raises(InputError, match="both give depth_mm and aspect_ratio: say which") as caught:
        choose_first_size(CRACK, both, None)
    assert caught.value.path == ("first_size",)
    with pytest.raises(InputError, match="no variable gives a first size") as caught:
        choose_first_size(CRACK, {"stress_factor": ONE}, "variables")
    assert caught.value.path == ("first_size",)
    for choice in (None, "crack"):
        assert choose_first_size(CRACK, {"stress_factor": ONE}, choice) == ({"stress_factor": ONE}, [])  # type: ignore[arg-type]


def test_a_normal_variable_wider_than_three_tenths_is_said_to_be_cut() -> None:
    def said(kind: str, variation: float) -> list[tuple[str, str | None, str]]:
        variables = {"depth_mm": Distribution(kind=kind, mean=1.0, variation=variation), "aspect_ratio": ONE}  # type: ignore[arg-type]
        return [(f.code, f.field, f.message.partition(":")[0]) for f in spread_findings(variables, Stress())]

    assert said("normal", 0.301) == [("normal-variable-cut", "variation", "depth_mm")]
    assert said("normal", 0.3) == said("lognormal", 0.5) == []


@pytest.mark.parametrize("name", ["stress_factor", "concentration_factor", "intensity_factor"])
def test_lasting_stress_does_not_scatter_with_the_load(name: str) -> None:
    for lasting in ({"static_membrane_mpa": 20.0}, {"static_bending_mpa": -20.0}):
        (found,) = spread_findings({name: ONE}, Stress(membrane_mpa=100.0, **lasting))
        assert (found.code, found.field) == ("lasting-stress-fixed", "static_membrane_mpa")
        assert f": {name} multiply" in found.message
        assert spread_findings({"depth_mm": ONE}, Stress(membrane_mpa=100.0, **lasting)) == []
    assert spread_findings({name: ONE}, Stress(membrane_mpa=100.0)) == []


def test_a_drawn_threshold_takes_the_place_of_that_of_the_law() -> None:
    with_threshold, without = paris(5.21e-13, 3.0, threshold_mpa_sqrt_mm=63.0), paris(5.21e-13, 3.0)

    def said(law: GrowthLaw, name: str) -> list[tuple[str, str | None]]:
        return [(f.code, f.field) for f in stage_findings(law, {name: ONE})]

    assert said(with_threshold, "threshold_mpa_sqrt_mm") == [("threshold-drawn", "threshold_mpa_sqrt_mm")]
    assert said(without, "threshold_mpa_sqrt_mm") == said(with_threshold, "depth_mm") == []
    assert said(without, "first_coefficient_factor") == [("first-stage-missing", "first_coefficient_factor")]
