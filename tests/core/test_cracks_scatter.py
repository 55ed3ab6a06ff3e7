"""Scatter: distributions, a closed form, the adaptive referee, seeds, sensitivities, bad input."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fatcore.cracks.configurations.plates import SurfaceCrack
from fatcore.cracks.configurations.stress_field import Stress
from fatcore.cracks.driving import law_sets
from fatcore.cracks.driving.law import paris
from fatcore.cracks.driving.load_blocks import block_loading, constant_loading
from fatcore.cracks.scatter.monte_carlo import ScatterOutcome, simulate_scatter
from fatcore.cracks.scatter.random_variables import (
    Distribution,
    drawn,
    published_sets,
    published_variables,
    weibull_shape,
)
from fatcore.errors import InputError, NotConvergedError, UnknownError

CRACK = SurfaceCrack(depth_mm=0.15, half_length_mm=0.3, thickness_mm=12.0, half_width_mm=60.0)
STRESS = Stress(membrane_mpa=80.0, bending_mpa=60.0)


def run(**more: object) -> ScatterOutcome:
    values: dict[str, object] = {
        "crack": CRACK,
        "stress": STRESS,
        "law": paris(5.21e-13, 3.0),
        "loading": constant_loading(1.0, 0.1),
        "variables": {"last_coefficient_factor": Distribution(kind="lognormal", median=1.0, log_deviation=0.5)},
        "samples": 2000,
        "seed": 3,
    }
    return simulate_scatter(**(values | more))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "variable",
    [
        Distribution(kind="lognormal", mean=3.0, variation=0.4),
        Distribution(kind="normal", mean=3.0, variation=0.2),
        Distribution(kind="exponential", mean=3.0),
        Distribution(kind="weibull", mean=3.0, variation=0.5),
        Distribution(kind="fixed", mean=3.0),
    ],
    ids=lambda v: v.kind,
)
def test_samples_have_the_mean_and_variation(variable: Distribution) -> None:
    values = variable.sample(np.random.default_rng(1), 200_000)
    assert (values > 0.0).all()
    assert values.mean() == pytest.approx(3.0, rel=0.01)
    expected = {"exponential": 1.0, "fixed": 0.0}.get(variable.kind, variable.variation or 0.0)
    assert values.std() / values.mean() == pytest.approx(expected, rel=0.02, abs=1e-12)


def test_weibull_shape_against_the_gamma_function() -> None:
    for variation in (0.1, 0.5, 1.0, 2.0):
        shape = weibull_shape(variation)
        ratio = math.gamma(1.0 + 2.0 / shape) / math.gamma(1.0 + 1.0 / shape) ** 2
        assert ratio - 1.0 == pytest.approx(variation**2, rel=1e-9)


def test_lognormal_constant_gives_lognormal_lives() -> None:
    """The life is inversely proportional to the coefficient: deviation and median are known."""
    outcome = run(samples=20_000)
    assert outcome.log_life_deviation == pytest.approx(0.5 / math.log(10.0), rel=0.02)
    fixed = run(variables={"stress_factor": Distribution(kind="fixed", mean=1.0)}, samples=16, quantiles=[0.5])
    median = outcome.life_cycles[outcome.quantiles.index(0.5)]
    assert median == pytest.approx(fixed.life_cycles[0], rel=0.02)
    assert outcome.sensitivity["last_coefficient_factor"] == pytest.approx(-1.0, abs=1e-6)
    assert fixed.sensitivity["stress_factor"] == 0.0


def test_quick_lives_agree_with_the_adaptive_integration() -> None:
    variables = dict(published_variables("jcss-part3"))
    del variables["threshold_mpa_sqrt_mm"]
    smooth = run(law=paris(5.21e-13, 3.0), variables=variables, first_size="variables")
    assert smooth.verification_error < 2e-4
    kinked = run(law=law_sets.named_law("bs7910-2013/air-mean"), variables=variables, first_size="variables")
    assert kinked.verification_error < 5e-3
    assert kinked.verified_samples == 16


def test_cracks_that_find_no_end_are_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("fatcore.cracks.scatter._lives.MOST_STEPS", 2)
    with pytest.raises(NotConvergedError, match="did not end within 2 steps"):
        run(samples=20)


def test_seed_decides_and_threads_do_not() -> None:
    one, again, threads, other = run(), run(), run(workers=1), run(seed=4)
    assert one.life_cycles == again.life_cycles == threads.life_cycles
    assert one.life_cycles != other.life_cycles


def test_signs_of_the_sensitivities() -> None:
    variables = {
        "depth_mm": Distribution(kind="lognormal", mean=0.15, variation=0.66),
        "stress_factor": Distribution(kind="normal", mean=1.0, variation=0.1),
        "aspect_ratio": Distribution(kind="lognormal", mean=0.6, variation=0.3),
    }
    found = run(variables=variables, first_size="variables").sensitivity
    assert found["depth_mm"] < 0.0
    assert found["stress_factor"] < 0.0
    assert list(found) == ["depth_mm", "aspect_ratio", "stress_factor"]


def test_cracks_at_rest_are_infinite() -> None:
    outcome = run(
        law=law_sets.named_law("iiw-2016/steel"),
        stress=Stress(membrane_mpa=60.0),
        variables={"depth_mm": Distribution(kind="lognormal", mean=0.15, variation=0.8)},
        first_size="variables",
        quantiles=[0.01, 0.9],
    )
    assert 0.1 < outcome.infinite_life_share < 1.0
    assert outcome.life_cycles[1] is None
    nothing = run(law=law_sets.named_law("iiw-2016/steel"), stress=Stress(membrane_mpa=1.0), quantiles=[0.5])
    assert nothing.infinite_life_share == 1.0
    assert nothing.mean_log_life is None
    assert nothing.convergence is None
    assert nothing.verification_error == 0.0


def test_bounds_enclose_and_shrink() -> None:
    few, many = run(samples=500, quantiles=[0.5]), run(samples=8000, quantiles=[0.5])
    for outcome in (few, many):
        low, middle, high = outcome.life_low_cycles[0], outcome.life_cycles[0], outcome.life_high_cycles[0]
        assert low is not None
        assert middle is not None
        assert high is not None
        assert low < middle < high
    assert (many.convergence or 1.0) < 0.5 * (few.convergence or 0.0)


def test_random_threshold_and_blocks() -> None:
    outcome = run(
        variables={"threshold_mpa_sqrt_mm": Distribution(kind="lognormal", mean=60.0, variation=0.4)},
        loading=block_loading([1.0, 1.5], [0.1, 0.1], [10.0, 1.0]),
        last_depth_mm=8.0,
        samples=300,
    )
    assert outcome.sensitivity["threshold_mpa_sqrt_mm"] > 0.0
    assert outcome.verification_error < 5e-3


def test_findings() -> None:
    wide = {"depth_mm": Distribution(kind="lognormal", mean=8.0, variation=0.6)}
    found = run(variables=wide, first_size="variables", quantiles=[0.001, 0.01])
    assert {"first-size-beyond-end", "few-samples-in-tail", "first-size-drawn"} <= {f.code for f in found.findings}
    assert found.life_cycles[0] == 0.0  # deeper than the plate from the start: no life, not a bounded depth
    assert np.isfinite(found.mean_log_life or np.nan)
    every = run(variables=published_variables("jcss-part3"), first_size="variables")
    published = {f.code for f in every.findings}
    assert {"independent-stages", "mean-or-median", "high-threshold", "first-stage-missing"} <= published
    drawn_threshold = run(
        law=law_sets.named_law("iiw-2016/steel"),
        variables={"threshold_mpa_sqrt_mm": Distribution(kind="fixed", mean=60.0)},
    )
    assert "threshold-drawn" in {f.code for f in drawn_threshold.findings}
    none_left = {"depth_mm": Distribution(kind="fixed", mean=50.0)}
    assert run(variables=none_left, first_size="variables").life_cycles == (0.0,) * 5


def test_first_size_is_that_of_the_crack_or_of_the_variables() -> None:
    sizes = {"depth_mm": Distribution(kind="fixed", mean=0.3)}
    drawn_size = run(variables=sizes, first_size="variables")
    deeper = SurfaceCrack(depth_mm=0.3, half_length_mm=0.6, thickness_mm=12.0, half_width_mm=60.0)
    own = run(crack=deeper, variables=sizes, first_size="crack")
    assert drawn_size.life_cycles == pytest.approx(own.life_cycles, rel=1e-12)
    assert "first-size-of-crack" in {f.code for f in own.findings}
    assert run(variables=sizes, first_size="crack").life_cycles[0] > own.life_cycles[0]  # type: ignore[operator]
    with pytest.raises(InputError, match="say which counts"):
        run(variables=sizes)
    with pytest.raises(InputError, match="no variable gives"):
        run(first_size="variables")
    with pytest.raises(UnknownError, match="first size"):
        run(variables=sizes, first_size="both")


def test_published_sets() -> None:
    assert published_sets() == ("dnv-rp-c210", "jcss-part3")
    assert published_variables("dnv-rp-c210")["depth_mm"].kind == "exponential"
    with pytest.raises(UnknownError, match="set of random variables"):
        published_variables("nobody")


def test_bad_input() -> None:
    with pytest.raises(UnknownError, match="random variable"):
        drawn({"colour": Distribution(kind="fixed", mean=1.0)}, np.random.default_rng(1), 3)
    with pytest.raises(InputError, match="last depth"):
        run(last_depth_mm=20.0)
    with pytest.raises(InputError, match="samples"):
        run(samples=2)
    with pytest.raises(InputError, match="quantiles"):
        run(quantiles=[0.0])
    with pytest.raises(InputError, match="needs its variation"):
        Distribution(kind="normal", mean=1.0)
    with pytest.raises(InputError, match="give the mean"):
        Distribution(kind="exponential")
    with pytest.raises(InputError, match="lognormal variable"):
        Distribution(kind="fixed", median=1.0)
    with pytest.raises(InputError, match="variation"):
        Distribution(kind="normal", mean=1.0, variation=-1.0)
    with pytest.raises(InputError, match="takes no variation"):
        Distribution(kind="exponential", mean=1.0, variation=0.5)
    with pytest.raises(InputError, match="not both"):
        Distribution(kind="lognormal", mean=1.0, variation=0.5, log_deviation=0.5)
