"""Opening functions worked by hand, inside and outside the load ratios of their sources."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from fatcore.cracks.driving import closure
from fatcore.cracks.driving.load_ratio import LoadRatioEffect
from fatcore.cracks.driving.ranges import effective_range
from fatcore.errors import InputError


@pytest.mark.parametrize(
    ("ratio", "share"),
    [
        (-3.0, 0.25),  # the part above zero load
        (-1.0, 0.46),
        (-0.1, 0.46),
        (0.0, 0.5),
        (0.7, 0.78),
        (0.75, 0.3 * 0.78 / 0.25),  # the opening level of R = 0.7 stays: 1 - 0.3 * 0.78
        (0.85, 1.0),  # the cycle lies above it
    ],
)
def test_the_open_share_of_elber(ratio: float, share: float) -> None:
    """U = 0.5 + 0.4 R from R = -0.1 to 0.7."""
    assert float(closure.linear_opening("elber", ratio)) == pytest.approx(share, rel=1e-12)


@pytest.mark.parametrize("flow", [0.3, 0.5, 0.6, 0.9])
@pytest.mark.parametrize("constraint", [1.0, 2.0, 3.0])
def test_a_wider_cycle_never_has_a_smaller_open_part(flow: float, constraint: float) -> None:
    """Near yield the source opens a crack below zero load at R = -2 already: what is open there stays open."""
    wide = np.linspace(-6.0, 0.9, 691)
    opened = closure.newman_opening(wide, constraint, flow) * (1.0 - wide)
    assert (np.diff(opened) <= 1e-12).all()
    at_end, beyond = (closure.newman_opening(r, constraint, flow) * (1.0 - r) for r in (-2.0, -2.0 - 1e-9))
    assert beyond == pytest.approx(at_end, rel=1e-8)
    assert opened[0] == pytest.approx(max(float(at_end), 1.0))


@pytest.mark.parametrize(("ratio", "share"), [(-3.0, 0.25), (-1.0, 0.34), (0.0, 0.55), (0.5, 0.745), (1.0, 1.0)])
def test_the_open_share_of_schijve(ratio: float, share: float) -> None:
    """U = 0.55 + 0.33 R + 0.12 R^2 from R = -1 to 1; below, the share there or the part above zero load."""
    assert float(closure.linear_opening("schijve", ratio)) == pytest.approx(share, rel=1e-12)


@pytest.mark.parametrize(("constraint", "flow"), [(1.0, 0.3), (3.0, 0.6)])
def test_the_opening_level_of_newman_is_the_printed_one(constraint: float, flow: float) -> None:
    """[newman-1984] A0 = (0.825 - 0.34 a + 0.05 a^2) cos(pi s / 2)^(1 / a), A1 = (0.415 - 0.071 a) s."""
    first = (0.825 - 0.34 * constraint + 0.05 * constraint**2) * math.cos(0.5 * math.pi * flow) ** (1.0 / constraint)
    second = (0.415 - 0.071 * constraint) * flow
    fourth = 2.0 * first + second - 1.0
    third = 1.0 - first - second - fourth
    for ratio in (-2.0, -1.0, 0.0):
        level = first + second * ratio
        assert float(closure.newman_closure(ratio, constraint, flow)) == pytest.approx(level, rel=1e-12)
        assert float(closure.newman_opening(ratio, constraint, flow)) == pytest.approx((1.0 - level) / (1.0 - ratio))
    for ratio in (0.3, 0.7, 0.99):
        level = max(ratio, first + second * ratio + third * ratio**2 + fourth * ratio**3)
        assert float(closure.newman_closure(ratio, constraint, flow)) == pytest.approx(level, rel=1e-12)


def test_a_stress_that_does_nothing_has_the_load_ratio_of_its_factors() -> None:
    given: dict[str, Any] = {"condition": "stress-relieved"}
    assert effective_range(0.0, 1.0, 0.5, **given).load_ratio == 0.5
    lasting = effective_range(100.0, 1.0, 0.0, static_k_mpa_sqrt_mm=[0.0, 100.0], **given)
    assert lasting.load_ratio.tolist() == [0.0, 0.5]


def test_a_range_near_a_load_ratio_of_one_stays_a_number() -> None:
    effect = LoadRatioEffect(kind="walker", walker_exponent=0.5)
    assert np.asarray(effect.range_factor(np.array([1.0, 2.0]))).tolist() == pytest.approx([1e6, 1e6])
    assert np.asarray(effect.range_factor(np.array([-1.0, 0.0, 0.75]))).tolist() == pytest.approx([1.0, 1.0, 2.0])
    assert np.isfinite(closure.linear_opening("elber", [1.0, 1.5])).all()
    forman = LoadRatioEffect(kind="forman", toughness_mpa_sqrt_mm=1000.0)
    divisor = forman.rate_divisor(np.array([100.0] * 3), np.array([-1.0, 0.0, 0.5]))
    assert divisor.tolist() == [900.0, 900.0, 400.0]


@pytest.mark.parametrize(
    ("name", "inside", "outside"),
    [
        ("constraint", (1.0, 3.0), (1.0 - 1e-9, 3.0 + 1e-9)),
        ("stress_over_flow", (0.0, 1.0 - 1e-9), (-1e-9, 1.0)),
        ("load_ratio", (-2.0, 1.0 - 1e-9), (-2.0 - 1e-9, 1.0)),
    ],
)
def test_what_newman_takes_has_ends(name: str, inside: tuple[float, ...], outside: tuple[float, ...]) -> None:
    given = {"load_ratio": 0.5, "constraint": 2.0, "stress_over_flow": 0.5}
    for value in inside:
        assert np.isfinite(closure.newman_closure(**given | {name: value}))
    for value in outside:
        with pytest.raises(InputError) as caught:
            closure.newman_closure(**given | {name: value})
        assert caught.value.path == (name,)
