"""Growth tests as a whole: simulated specimens of a known law, validity rules, specimens together, bad input."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from scipy import stats
from scipy.integrate import solve_ivp

from fatcore.errors import FatcoreError, InputError
from fatcore.trials import GrowthSpecimen, GrowthTest, evaluate_growth
from fatcore.trials.growth.outcome import GrowthRateOutcome

COMPACT = {"width_mm": 50.0, "thickness_mm": 10.0, "force_n": 6000.0}
MIDDLE = {"width_mm": 100.0, "thickness_mm": 10.0, "force_n": 60000.0}
COEFFICIENT, EXPONENT = 5.21e-13, 3.0


def compact_k(depth: Any) -> Any:
    """Stress intensity of the compact specimen: polynomial of ASTM E647 (from memory)."""
    a = np.asarray(depth) / 50.0
    factor = (2.0 + a) / (1.0 - a) ** 1.5 * (0.886 + 4.64 * a - 13.32 * a**2 + 14.72 * a**3 - 5.6 * a**4)
    return 6000.0 / (10.0 * math.sqrt(50.0)) * factor


def grown(coefficient: float = COEFFICIENT, ratio: float = 0.1, first: float = 12.0, last: float = 30.0) -> Any:
    """Cycles and sizes of a compact specimen under the law, every half millimetre."""
    sizes = np.arange(first, last, 0.5)

    def slowness(size: float, _: Any) -> Any:
        return 1.0 / (coefficient * (compact_k(size) * (1.0 - max(ratio, 0.0))) ** EXPONENT)

    found = solve_ivp(slowness, (first, last), [0.0], t_eval=sizes, rtol=1e-10, atol=1e-6)
    return sizes, found.y[0]


def specimen(**other: Any) -> GrowthSpecimen:
    return GrowthSpecimen(
        **{
            "family": "specimen-compact",
            "parameters": COMPACT,
            "load_ratio": 0.1,
            "yield_strength_mpa": 400.0,
            **other,
        }
    )


def one_of(name: str = "one", size: Any = None, cycles: Any = None, **other: Any) -> GrowthTest:
    shedding = other.pop("shedding", False)
    sizes, counts = grown() if size is None else (size, cycles)
    return GrowthTest(name=name, specimen=specimen(**other), size_mm=sizes, cycles=counts, shedding=shedding)


def evaluated(*tests: GrowthTest, **other: Any) -> GrowthRateOutcome:
    return evaluate_growth(tests, **{"reduction": "secant", "confidence": 0.95, **other})


def later() -> Any:
    """Readings that are not those of `grown`, of the same course."""
    sizes, cycles = grown()
    return sizes, cycles + 100.0


def codes(found: GrowthRateOutcome) -> set[str]:
    return {each.code for each in found.findings}


@pytest.mark.parametrize("reduction", ["secant", "seven-point"])
def test_readings_of_a_known_law_give_its_constants(reduction: str) -> None:
    found = evaluated(one_of(), reduction=reduction)
    law = found.specimens[0].law
    assert law is not None
    assert law.exponent == pytest.approx(EXPONENT, abs=0.03)
    assert law.coefficient == pytest.approx(COEFFICIENT, rel=0.15)
    at = law.pivot_mpa_sqrt_mm
    assert law.pivot_rate_mm_per_cycle == pytest.approx(COEFFICIENT * at**EXPONENT, rel=0.02)
    # the polynomial of the standard and the one here agree
    one = found.specimens[0]
    assert one.k_max_mpa_sqrt_mm == pytest.approx(compact_k(one.rate_size_mm), rel=1e-3)
    assert one.delta_k_mpa_sqrt_mm == pytest.approx(0.9 * one.k_max_mpa_sqrt_mm)
    assert found.mean_law is not None
    assert found.mean_law.stages[0].coefficient == law.coefficient
    assert law.upper_coefficient is None
    assert found.upper_law is None
    assert "no-upper-law" in codes(found)
    assert found.pooled is None


def test_below_load_ratio_zero_the_range_is_the_part_above_zero() -> None:
    found = evaluated(one_of(load_ratio=-1.0))
    assert found.specimens[0].delta_k_mpa_sqrt_mm == pytest.approx(found.specimens[0].k_max_mpa_sqrt_mm)
    assert "range-above-zero" in codes(found)


def several(scatter: float, count: int = 12, exponent_scatter: float = 0.0) -> list[GrowthTest]:
    """Specimens whose laws differ by a factor, with readings that scatter a little."""
    rng = np.random.default_rng(4)
    tests = []
    for place in range(count):
        sizes, cycles = grown(COEFFICIENT * 10.0 ** (scatter * rng.standard_normal()))
        steps = np.diff(cycles) * 10.0 ** (0.03 * rng.standard_normal(len(cycles) - 1))
        steps *= np.exp(np.linspace(-1.0, 1.0, len(steps)) * exponent_scatter * rng.standard_normal())
        tests.append(one_of(f"no {place}", sizes, np.concatenate([[0.0], np.cumsum(steps)])))
    return tests


def test_specimens_together_recover_the_scatter_between_and_within() -> None:
    found = evaluated(*several(0.1))
    pooled = found.pooled
    assert pooled is not None
    assert pooled.law.exponent_low < EXPONENT < pooled.law.exponent_high
    assert pooled.sd_within == pytest.approx(0.03, rel=0.15)
    freedom = 11
    low, high = (math.sqrt(freedom / stats.chi2.ppf(p, freedom)) for p in (0.9999, 0.0001))
    assert low * pooled.sd_between < 0.1 < high * pooled.sd_between
    total = math.hypot(pooled.sd_between, pooled.sd_within)
    assert pooled.law.sd_log10_rate == pytest.approx(total)
    # Student's factor of one more specimen at the share below two deviations
    levels = [
        np.mean(np.log10(each.rate_mm_per_cycle) - pooled.law.exponent * np.log10(each.delta_k_mpa_sqrt_mm))
        for each in found.specimens
    ]
    reach = stats.t.ppf(stats.norm.cdf(2.0), 11) * math.sqrt(1.0 + 1.0 / 12.0) * np.std(levels, ddof=1)
    # and of the scatter about the lines, and of the exponent at the end of the ranges that is furthest away
    x = [np.log10(each.delta_k_mpa_sqrt_mm) for each in found.specimens]
    points = sum(len(each) for each in x)
    within = stats.t.ppf(stats.norm.cdf(2.0), points - 24) * pooled.sd_within
    far = max(abs(np.concatenate(x) - math.log10(pooled.law.pivot_mpa_sqrt_mm)))
    error = pooled.sd_within / math.sqrt(sum(np.square(each - each.mean()).sum() for each in x))
    tilt = stats.t.ppf(stats.norm.cdf(2.0), points - 24) * error * far
    ahead = math.sqrt(reach**2 + within**2 + tilt**2)
    assert ahead > 2.0 * total
    assert pooled.law.upper_coefficient == pytest.approx(pooled.law.coefficient * 10.0**ahead)
    assert pooled.coefficient_factor.log_deviation == pytest.approx(0.5 * ahead * math.log(10.0))
    assert "few-specimens" not in codes(found)
    assert pooled.law.pivot_low_mm_per_cycle < COEFFICIENT * pooled.law.pivot_mpa_sqrt_mm**EXPONENT
    assert pooled.law.pivot_high_mm_per_cycle > COEFFICIENT * pooled.law.pivot_mpa_sqrt_mm**EXPONENT
    assert pooled.specimens == 12
    assert "pooled-scatter" in codes(found)
    assert found.mean_law is not None
    assert found.mean_law.stages[0].exponent == pooled.law.exponent


def test_the_common_exponent_is_that_of_parallel_lines_and_its_test_the_nested_f() -> None:
    found = evaluated(*several(0.1, 3))
    assert found.pooled is not None
    x = [np.log10(each.delta_k_mpa_sqrt_mm) for each in found.specimens]
    y = np.concatenate([np.log10(each.rate_mm_per_cycle) for each in found.specimens])
    group = np.repeat(range(3), [len(each) for each in x])
    levels = [(group == k).astype(float) for k in range(3)]
    every = np.concatenate(x)

    def left(columns: list[np.ndarray]) -> tuple[np.ndarray, float]:
        design = np.column_stack(columns)
        b = np.linalg.lstsq(design, y, rcond=None)[0]
        return b, float(np.square(y - design @ b).sum())

    b, shared = left([*levels, every])
    _, own = left([*levels, *(level * every for level in levels)])
    freedom = len(y) - 6
    assert found.pooled.law.exponent == pytest.approx(b[3])
    assert math.log10(found.pooled.law.coefficient) == pytest.approx(float(b[:3].mean()))
    statistic = (shared - own) / 2.0 / (own / freedom)
    assert found.pooled.slopes_chance == pytest.approx(stats.f.sf(statistic, 2, freedom))
    within = math.sqrt(shared / (len(y) - 4))
    assert found.pooled.sd_within == pytest.approx(within)
    spread = sum(float(np.square(each - each.mean()).sum()) for each in x)
    reach = stats.t.ppf(0.975, freedom) * within / math.sqrt(spread)
    assert found.pooled.law.exponent_high - found.pooled.law.exponent == pytest.approx(reach)


def test_limits_of_an_exponent_of_rates_that_share_readings_follow_from_the_specimens() -> None:
    found = evaluated(*several(0.1, 5), reduction="seven-point")
    assert found.pooled is not None
    exponents = np.array([each.law.exponent for each in found.specimens if each.law is not None])
    x = [np.log10(each.delta_k_mpa_sqrt_mm) for each in found.specimens]
    weights = np.array([float(np.square(each - each.mean()).sum()) for each in x])
    weights /= weights.sum()
    common = float(weights @ exponents)
    error = math.sqrt(float(np.square(weights * (exponents - common)).sum()) * 5.0 / 4.0)
    law = found.pooled.law
    assert law.exponent == pytest.approx(common)
    assert law.exponent_high - law.exponent == pytest.approx(stats.t.ppf(0.975, 4) * error)
    assert law.exponent_low < EXPONENT < law.exponent_high


def test_exponents_that_differ_are_told() -> None:
    assert "exponents-differ" in codes(evaluated(*several(0.0, 6, exponent_scatter=0.6)))
    assert "exponents-differ" not in codes(evaluated(*several(0.1, 6)))


def test_specimens_without_any_scatter_differ_by_chance_only() -> None:
    # rates that lie on one law exactly
    sizes = np.arange(12.0, 25.0, 0.5)
    rate = 1e-12 * (0.9 * compact_k(0.5 * (sizes[1:] + sizes[:-1]))) ** 3.0
    counts = np.concatenate([[0.0], np.cumsum(np.diff(sizes) / rate)])
    found = evaluated(one_of("a", sizes, counts), one_of("b", sizes, counts + 1.0))
    assert found.pooled is not None
    assert found.pooled.law.exponent == pytest.approx(3.0, abs=0.01)
    assert found.pooled.slopes_chance <= 1.0


def test_laws_of_two_materials_are_not_pooled() -> None:
    sizes, cycles = grown()
    with pytest.raises(InputError, match="decades") as caught:
        evaluated(one_of("a", sizes, cycles), one_of("b", sizes, cycles * 1e9))
    assert caught.value.path == ("tests",)


def test_mixed_load_ratios_are_told() -> None:
    assert "load-ratios-mixed" in codes(evaluated(one_of("a"), one_of("b", *later(), load_ratio=0.2)))


def test_rates_that_do_not_grow_are_left_out_and_told() -> None:
    sizes, cycles = grown()
    sizes = sizes.copy()
    sizes[10] = sizes[9] - 0.1
    found = evaluated(one_of("a", sizes, cycles))
    assert {"rates-left-out", "crack-shrinks"} <= codes(found)
    assert found.specimens[0].law is not None
    assert found.specimens[0].law.rates_used == len(sizes) - 2


def test_two_stages_are_told_where_they_describe_better() -> None:
    sizes = np.arange(12.0, 34.0, 0.4)
    k = 0.9 * compact_k(0.5 * (sizes[1:] + sizes[:-1]))
    rate = np.where(k < 1000.0, 1e-20 * k**5.0, 1e-20 * 1000.0**3.0 * k**2.0)
    counts = np.concatenate([[0.0], np.cumsum(np.diff(sizes) / rate)])
    found = evaluated(one_of("a", sizes, counts))
    stages = found.specimens[0].two_stages
    assert stages is not None
    assert stages.stage_exponents == pytest.approx((5.0, 2.0), abs=0.1)
    assert stages.knee_mpa_sqrt_mm == pytest.approx(1000.0, rel=0.05)
    assert "two-stages-better" in codes(found)


def shed(fall: float = -0.05, step: float = 0.1, rates: int = 60, low: float = 0.6e-7) -> GrowthTest:
    """A test whose loads fall so that the intensity falls by a share a mm, along log K = const + 0.1 log rate."""
    sizes = 15.0 + step * np.arange(rates)
    middle = 0.5 * (sizes[1:] + sizes[:-1])
    wanted = 300.0 * np.exp(fall * (sizes - sizes[0]))
    at_rates = np.exp(np.interp(middle, sizes, np.log(wanted)))
    last = 0.9 * float(at_rates[-1])
    rate = low * (0.9 * at_rates / last) ** 10.0
    counts = np.concatenate([[0.0], np.cumsum(np.diff(sizes) / rate)])
    return one_of("shed", sizes, counts, load_factor=wanted / compact_k(sizes), shedding=True)


def test_a_threshold_follows_from_shed_loads() -> None:
    given = shed()
    found = evaluated(given)
    one = found.specimens[0]
    assert one.law is None
    # the range at 1e-7 of the law along which the rates were made
    law = float(one.delta_k_mpa_sqrt_mm[-1]) * (1e-7 / 0.6e-7) ** 0.1
    assert found.threshold_mpa_sqrt_mm == pytest.approx(law, rel=0.01)
    assert found.mean_law is None
    assert "shed-too-fast" not in codes(found)
    assert "threshold-extrapolated" not in codes(found)
    both = evaluated(given, one_of("grown"))
    assert both.mean_law is not None
    assert both.threshold_mpa_sqrt_mm == found.threshold_mpa_sqrt_mm
    # the same test grew below it, so that the law has the lowest range at which it did
    lowest = float(one.delta_k_mpa_sqrt_mm[one.rate_mm_per_cycle > 0.0].min())
    assert found.threshold_mpa_sqrt_mm > lowest
    assert both.mean_law.threshold_mpa_sqrt_mm == lowest
    assert both.mean_law.tested.growth_from_mpa_sqrt_mm == lowest
    assert both.mean_law.tested.threshold_load_ratio == one_of().specimen.load_ratio
    (said,) = (each for each in both.findings if each.code == "threshold-in-mean-law")
    assert "the lowest of 1 specimen(s), of shed at load ratio 0.1" in said.message
    assert "cracks grew at 202 already" in said.message


def test_a_threshold_that_no_growth_contradicts_stays_in_the_mean_law_and_not_in_the_upper_one() -> None:
    found = evaluated(shed(low=1e-7), *several(0.1, 2))
    assert found.mean_law is not None
    assert found.upper_law is not None
    assert found.mean_law.threshold_mpa_sqrt_mm == pytest.approx(found.threshold_mpa_sqrt_mm, rel=0.02)
    assert found.upper_law.threshold_mpa_sqrt_mm is None
    assert found.upper_law.tested.threshold_load_ratio is None
    assert found.upper_law.tested.statistic == "upper"
    assert found.upper_law.tested.name == "pooled/upper"
    assert found.upper_law.tested.specimens == 2


def test_a_threshold_above_the_rates_is_told_to_be_extrapolated() -> None:
    assert "threshold-extrapolated" in codes(evaluated(shed(low=3e-7)))


def test_loads_shed_too_fast_are_told() -> None:
    assert "shed-too-fast" in codes(evaluated(shed(fall=-0.12)))
    sizes, cycles = grown()
    drop = np.where(np.arange(len(sizes)) > 20, 0.7, 1.0)
    assert "shed-too-fast" in codes(evaluated(one_of("a", sizes, cycles, load_factor=drop)))


def test_a_test_said_to_be_shed_whose_intensity_rises_is_refused() -> None:
    sizes, cycles = grown()
    with pytest.raises(InputError, match="does not fall") as caught:
        evaluated(one_of("a", sizes, cycles, shedding=True))
    assert caught.value.path == ("tests", 0, "shedding")


def test_increments_and_ligament_of_the_standard_are_held() -> None:
    sizes, cycles = grown()
    assert not codes(evaluated(one_of())) & {"increment-too-large", "increment-small", "ligament-too-short"}
    wide = evaluated(one_of("a", sizes[::4], cycles[::4]))
    # 2 mm of 50 are the 4 % allowed up to 0.4 W, and more than 2 % beyond
    assert "increment-too-large" in codes(wide)
    near = sizes[:-8:4]
    assert "increment-too-large" not in codes(evaluated(one_of("a", near[near <= 20.0], cycles[:-8:4][near <= 20.0])))
    fine = np.linspace(12.0, 20.0, 60)
    assert "increment-small" in codes(evaluated(one_of("a", fine, np.linspace(1.0, 6e5, 60) ** 0.8)))
    short = evaluated(one_of(yield_strength_mpa=150.0))
    k, left = short.specimens[0].k_max_mpa_sqrt_mm, 50.0 - short.specimens[0].rate_size_mm
    assert (left < 4.0 / math.pi * (k / 150.0) ** 2).any()
    assert "ligament-too-short" in codes(short)
    assert "ligament-not-checked" in codes(evaluated(one_of(yield_strength_mpa=None)))


def middle(**other: Any) -> GrowthTest:
    sizes = np.linspace(12.0, 36.0, 25)
    counts = 1e5 * (1.0 - (12.0 / sizes) ** 0.5)
    return one_of("m", sizes, counts, **{"family": "specimen-middle", "parameters": MIDDLE, **other})


def test_the_ligament_of_a_middle_crack_carries_the_largest_load() -> None:
    # 100 - 2 a against 1.25 P/(B yield): 28 mm at the end, so 1.25 * 60000/(10 * 268) = 27.99
    assert "ligament-too-short" not in codes(evaluated(middle(yield_strength_mpa=268.0)))
    assert "ligament-too-short" in codes(evaluated(middle(yield_strength_mpa=250.0)))
    raised = np.linspace(1.0, 1.2, 25)
    assert "ligament-too-short" in codes(evaluated(middle(yield_strength_mpa=268.0, load_factor=raised)))


def test_other_families_have_no_rule_of_increments() -> None:
    sizes, cycles = grown()
    found = evaluated(one_of("a", sizes, cycles, family="specimen-eccentric"))
    assert "validity-not-checked" in codes(found)


def test_two_readings_give_a_rate_but_no_law() -> None:
    sizes, cycles = grown()
    with pytest.raises(InputError, match="needs 3") as caught:
        evaluated(one_of("a", sizes[:2], cycles[:2]))
    assert caught.value.path == ("tests", 0, "size_mm")


@pytest.mark.parametrize(
    ("other", "path"),
    [
        ({"parameters": {"width_mm": 50.0, "force_n": 6e3}}, ("tests", 0, "specimen", "parameters", "thickness_mm")),
        ({"parameters": {**COMPACT, "width_mm": 20.0}}, ("tests", 0, "size_mm")),
        ({"parameters": {**COMPACT, "force_n": -6e3}}, ("tests", 0, "specimen", "parameters")),
        ({"load_factor": np.ones(3)}, ("tests", 0, "specimen", "load_factor")),
    ],
)
def test_what_the_specimen_lacks_is_named(other: dict[str, Any], path: tuple[str | int, ...]) -> None:
    with pytest.raises(FatcoreError) as caught:
        evaluated(one_of(**other))
    assert caught.value.path[: len(path)] == path


@pytest.mark.parametrize(
    ("other", "path"),
    [
        ({"load_ratio": 1.0}, ("load_ratio",)),
        ({"family": "guess"}, ("family",)),
        ({"load_factor": np.array([1.0, np.nan])}, ("load_factor",)),
        ({"yield_strength_mpa": -1.0}, ("yield_strength_mpa",)),
    ],
)
def test_bad_specimens_are_refused_by_name(other: dict[str, Any], path: tuple[str, ...]) -> None:
    with pytest.raises(InputError) as caught:
        specimen(**other)
    assert caught.value.path == path


def test_tests_need_names_of_their_own_and_have_a_limit(monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(InputError, match="two specimens") as caught:
        evaluated(one_of("a"), one_of("b"), one_of("a"))
    assert caught.value.path == ("tests", 2, "name")
    with pytest.raises(InputError):
        evaluated()
    monkeypatch.setattr("fatcore.trials.growth.evaluation._READINGS", 50)
    with pytest.raises(InputError, match="more than 50") as caught:
        evaluated(one_of("a"), one_of("b", *later()))
    assert caught.value.path == ("tests",)
