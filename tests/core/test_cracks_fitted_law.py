"""Use of a fitted growth law: what its tests bear, and what an answer says beyond them."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from fatcore.cracks.configurations.plates import SurfaceCrack
from fatcore.cracks.configurations.straight import CentreCrack
from fatcore.cracks.configurations.stress_field import Stress
from fatcore.cracks.driving.law import GrowthLaw, Stage, Threshold, user_defined_law
from fatcore.cracks.driving.load_blocks import constant_loading
from fatcore.cracks.driving.load_ratio import LoadRatioEffect
from fatcore.cracks.driving.tested import RatesTested
from fatcore.cracks.growth.end_criteria import EndCriteria
from fatcore.cracks.growth.life import GrowthOutcome, grow
from fatcore.cracks.scatter.monte_carlo import simulate_scatter
from fatcore.cracks.scatter.random_variables import Distribution
from fatcore.errors import InputError


def of_tests(**other: Any) -> RatesTested:
    values: dict[str, Any] = {
        "name": "plate/mean",
        "statistic": "mean",
        "specimens": 1,
        "rates_used": 30,
        "lowest_delta_k_mpa_sqrt_mm": 100.0,
        "highest_delta_k_mpa_sqrt_mm": 1000.0,
        "growth_from_mpa_sqrt_mm": 80.0,
        "lowest_load_ratio": 0.1,
        "highest_load_ratio": 0.5,
    }
    return RatesTested(**{**values, **other})


def law_of(threshold: float = 0.0, **other: Any) -> GrowthLaw:
    return user_defined_law(
        (Stage(coefficient=5e-13, exponent=3.0),),
        "mm-MPa",
        threshold=Threshold(intercept_mpa_sqrt_mm=threshold),
        tested=of_tests(**other),
    )


def grown(law: GrowthLaw, first: float = 2.0, last: float = 20.0, **other: Any) -> GrowthOutcome:
    """Range of stress intensity 100 sqrt(pi a): 251 at 2 mm, 793 at 20 mm."""
    return grow(
        crack=CentreCrack(half_length_mm=first),
        stress=Stress(membrane_mpa=100.0),
        law=law,
        loading=constant_loading(),
        end=EndCriteria(half_length_mm=last),
        **other,
    )


def codes(found: Any) -> set[str]:
    return {each.code for each in found.findings}


def test_a_fitted_law_keeps_its_name_and_what_it_is_of_the_scatter() -> None:
    law = law_of()
    assert (law.name, law.statistic, law.is_own) == ("plate/mean", "mean", True)
    found = grown(law)
    assert {"fitted-law", "mean-growth-curve", "law-rate"} <= codes(found)
    assert "fitted-law-leaves-ranges" not in codes(found)
    upper = law_of(name="plate/upper", statistic="upper")
    assert "mean-growth-curve" not in codes(grown(upper))


@pytest.mark.parametrize(
    ("first", "last", "code"),
    [
        (0.1, 20.0, "fitted-law-outside-ranges"),  # below the tests for most of the life
        (2.0, 40.0, "fitted-law-leaves-ranges"),  # above them from 32 mm on, a small share of the life
        (30.0, 60.0, "fitted-law-outside-ranges"),
    ],
)
def test_ranges_that_no_test_had_are_said_by_their_share_of_the_life(first: float, last: float, code: str) -> None:
    found = grown(law_of(), first, last)
    assert codes(found) & {"fitted-law-outside-ranges", "fitted-law-leaves-ranges"} == {code}


def test_the_share_of_the_life_beyond_the_tests_is_that_of_the_closed_form() -> None:
    # cycles from a to b of da/dN = C (100 sqrt(pi a))^3 go with 1/sqrt(a) - 1/sqrt(b)
    found = grown(law_of(), 2.0, 40.0)
    (said,) = (each for each in found.findings if each.code == "fitted-law-leaves-ranges")
    edge = (1000.0 / 100.0) ** 2 / np.pi
    share = (edge**-0.5 - 40.0**-0.5) / (2.0**-0.5 - 40.0**-0.5)
    told = float(said.message.split(": ")[1].split(" %")[0])
    assert told == pytest.approx(100.0 * share, rel=0.05)


def test_a_fitted_law_counts_at_the_load_ratios_of_its_tests() -> None:
    assert not codes(grown(law_of())) & {"fitted-law-load-ratio", "fitted-threshold-load-ratio"}
    assert "fitted-law-load-ratio" in codes(grown(law_of(highest_load_ratio=0.1)))  # as welded counts at 0.5
    assert "fitted-threshold-load-ratio" in codes(grown(law_of(60.0, threshold_load_ratio=0.1)))
    assert "fitted-threshold-load-ratio" not in codes(grown(law_of(60.0, threshold_load_ratio=0.5)))
    relieved = grown(law_of(lowest_load_ratio=0.4), condition="stress-relieved")
    assert "fitted-law-low-load-ratio" in codes(relieved)


def test_a_threshold_above_a_range_at_which_the_tests_grew_is_refused() -> None:
    assert law_of(80.0).threshold.intercept_mpa_sqrt_mm == 80.0
    with pytest.raises(InputError, match="grew at 80") as caught:
        law_of(81.0)
    assert caught.value.path == ("threshold_mpa_sqrt_mm",)


@pytest.mark.parametrize(
    ("other", "field"),
    [
        ({"load_ratio_effect": LoadRatioEffect(kind="elber")}, "load_ratio_effect"),
        ({"threshold": Threshold(intercept_mpa_sqrt_mm=50.0), "threshold_form": "shifted"}, "threshold_form"),
    ],
)
def test_a_fitted_law_takes_no_form_that_its_tests_do_not_bear(other: dict[str, Any], field: str) -> None:
    with pytest.raises(InputError) as caught:
        user_defined_law((Stage(coefficient=5e-13, exponent=3.0),), "mm-MPa", tested=of_tests(), **other)
    assert caught.value.path == (field,)


def test_limits_of_tests_in_the_wrong_order_are_refused() -> None:
    with pytest.raises(InputError, match="lies above"):
        of_tests(lowest_delta_k_mpa_sqrt_mm=2000.0)


def test_a_crack_at_rest_from_the_start_says_nothing_of_ranges() -> None:
    found = grown(law_of(80.0, threshold_load_ratio=0.5), 0.1)
    assert found.below_cutoff
    assert not codes(found) & {"fitted-law-outside-ranges", "fitted-law-leaves-ranges"}


def test_scatter_of_a_fitted_law_says_the_same_and_draws_no_threshold() -> None:
    def drawn(**variables: Distribution) -> Any:
        return simulate_scatter(
            crack=SurfaceCrack(depth_mm=0.1, half_length_mm=0.1, thickness_mm=12.0, half_width_mm=100.0),
            stress=Stress(membrane_mpa=100.0),
            law=law_of(),
            loading=constant_loading(),
            variables=variables,
            samples=16,
        )

    factor = Distribution(kind="lognormal", median=1.0, log_deviation=0.3)
    assert {"fitted-law", "fitted-law-outside-ranges"} <= codes(drawn(last_coefficient_factor=factor))
    with pytest.raises(InputError, match="no threshold is drawn") as caught:
        drawn(threshold_mpa_sqrt_mm=Distribution(kind="lognormal", median=60.0, log_deviation=0.1))
    assert caught.value.path == ("variables", "threshold_mpa_sqrt_mm")


def test_a_law_by_few_rates_says_so_at_every_use() -> None:
    assert "law-by-few-rates" in codes(grown(law_of(rates_used=9)))
    assert "law-by-few-rates" not in codes(grown(law_of(rates_used=10)))
