"""Fracture in numbers made by hand: assessment lines as printed, reserves, lasting stress, critical sizes."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from fatcore.cracks.configurations import reference_stress
from fatcore.cracks.configurations.plates import SurfaceCrack
from fatcore.cracks.configurations.straight import CentreCrack, EdgeCrack
from fatcore.cracks.configurations.stress_field import Stress
from fatcore.cracks.fracture.assessment import (
    Line,
    Strength,
    assess_fracture,
    assessment_line,
    collapse_limit,
    interaction_term,
    lasting_excess,
    line_excess,
)
from fatcore.cracks.fracture.critical_size import CriticalOutcome, critical_size_mm, find_critical_size
from fatcore.errors import InputError, NotCoveredError
from fatcore.figures import figure

STEEL = Strength(yield_strength_mpa=400.0, ultimate_strength_mpa=600.0, toughness_mpa_sqrt_mm=2000.0)
SOFT = Strength(yield_strength_mpa=300.0, ultimate_strength_mpa=600.0, toughness_mpa_sqrt_mm=2000.0)


def continuous(lr: float, mu: float, hardening: float) -> float:
    """[bs-7910-2013] f = (1 + Lr^2 / 2)^(-1/2) (0.3 + 0.7 exp(-mu Lr^6)), beyond yield f(1) Lr^((N - 1) / 2N)."""
    below = min(lr, 1.0)
    value = (1.0 + below**2 / 2.0) ** -0.5 * (0.3 + 0.7 * math.exp(-mu * below**6))
    return float(value * max(lr, 1.0) ** ((hardening - 1.0) / (2.0 * hardening)))


def codes(outcome: Any) -> set[str]:
    return {each.code for each in outcome.findings}


def message(outcome: Any, code: str) -> str:
    (found,) = (each.message for each in outcome.findings if each.code == code)
    return str(found)


@pytest.mark.parametrize("lr", [0.0, 0.3, 0.8, 1.0, 1.1, 1.2])
def test_the_continuous_line_is_the_printed_one(lr: float) -> None:
    """mu = E / 1000 yield, 0.6 at most; N = 0.3 (1 - yield / tensile)."""
    for strength, mu, hardening in ((STEEL, 0.515, 0.1), (SOFT, 0.6, 0.15)):
        assert float(assessment_line(lr, strength)) == pytest.approx(continuous(lr, mu, hardening), rel=1e-12)


@pytest.mark.parametrize("lr", [0.0, 0.5, 0.999, 1.0, 1.2])
def test_the_lines_with_a_plateau_and_of_the_older_edition_are_the_printed_ones(lr: float) -> None:
    """Plateau: strain 0.0375 (1 - yield / 1000), stretch 1 + E strain / yield, (stretch + 1 / 2 stretch)^(-1/2)."""
    stretch = 1.0 + 206000.0 * 0.0375 * 0.6 / 400.0
    at_yield = (stretch + 1.0 / (2.0 * stretch)) ** -0.5
    plateau = (1.0 + lr**2 / 2.0) ** -0.5 if lr < 1.0 else at_yield * lr**-4.5
    older = (1.0 - 0.14 * lr**2) * (0.3 + 0.7 * math.exp(-0.65 * lr**6))
    assert float(assessment_line(lr, STEEL, "plateau")) == pytest.approx(plateau, rel=1e-12)
    assert float(assessment_line(lr, STEEL, "older")) == pytest.approx(older, rel=1e-12)


def test_a_plateau_has_a_length_below_a_yield_strength_of_1000() -> None:
    given = {"ultimate_strength_mpa": 1200.0, "toughness_mpa_sqrt_mm": 2000.0}
    assert float(assessment_line(1.0, Strength(yield_strength_mpa=999.9, **given), "plateau")) > 0.0
    with pytest.raises(NotCoveredError) as caught:
        assessment_line(0.5, Strength(yield_strength_mpa=1000.0, **given), "plateau")
    assert caught.value.path == ("yield_strength_mpa",)


def test_strength_says_what_looks_like_another_unit() -> None:
    given = {"yield_strength_mpa": 400.0, "ultimate_strength_mpa": 600.0, "toughness_mpa_sqrt_mm": 2000.0}
    assert STEEL.doubts() == ()
    assert STEEL.youngs_modulus_mpa == 206000.0
    for change, code in (
        ({"yield_strength_mpa": 0.4}, "yield-strength-implausible"),
        ({"toughness_mpa_sqrt_mm": 2e5}, "toughness-implausible"),
        ({"youngs_modulus_mpa": 206.0}, "modulus-implausible"),
    ):
        doubtful = Strength(**given | change)
        assert [each.code for each in doubtful.doubts()] == [code]
        assert code in codes(assess_fracture(100.0, 0.0, doubtful))
        assert code in codes(find_critical_size(EdgeCrack(depth_mm=1.0, width_mm=20.0), Stress(), doubtful))


@pytest.mark.parametrize(
    ("primary", "reference", "secondary", "reserve"),
    [
        (500.0, 0.0, None, 4.0),  # brittle: toughness over intensity
        (4000.0, 0.0, None, 0.5),
        (0.0, 200.0, None, 2.5),  # plastic: the mean of both strengths over the reference stress
        (500.0, 0.0, 1000.0, 2.0),  # without a reference stress nothing interacts: 500 f + 1000 = 2000
        (500.0, 0.0, 2000.0, 0.0),
        (500.0, 0.0, 2001.0, 0.0),
        (0.0, 0.0, 2001.0, 0.0),
        (0.0, 0.0, 100.0, None),
        (0.0, 0.0, 2000.0, None),  # just bearable, and nothing to multiply
    ],
)
def test_the_reserve_is_the_factor_up_to_the_line(
    primary: float, reference: float, secondary: float | None, reserve: float | None
) -> None:
    found = assess_fracture(primary, reference, STEEL, k_secondary_mpa_sqrt_mm=secondary).reserve_factor[0]
    assert found == (None if reserve is None else pytest.approx(reserve, abs=1e-9))


def test_beyond_collapse_no_state_is_acceptable() -> None:
    at, beyond = (assess_fracture(0.0, reference, STEEL) for reference in (500.0, 500.0 * (1.0 + 1e-9)))
    assert (at.acceptable.tolist(), beyond.acceptable.tolist()) == ([True], [False])
    assert at.load_ratio_to_yield.tolist() == [1.25] == [collapse_limit(STEEL)]
    assert beyond.allowed_ratio.tolist() == [0.0]


def test_positions_of_several_states_and_what_is_said_of_them() -> None:
    """Lr = 200 / 400; chi = 500 0.5 / 1000; rho = 0.1 chi^0.714 - 0.007 chi^2 + 0.00003 chi^5."""
    found = assess_fracture([1000.0, 5.0], [200.0, 100.0], STEEL, k_secondary_mpa_sqrt_mm=[500.0, 0.0])
    rho = 0.1 * 0.25**0.714 - 0.007 * 0.25**2 + 3e-5 * 0.25**5
    assert found.interaction_term.tolist() == pytest.approx([rho, 0.0])
    assert found.fracture_ratio.tolist() == pytest.approx([0.75 + rho, 0.0025])
    assert found.load_ratio_to_yield.tolist() == [0.5, 0.25]
    assert found.sources == ("bs-7910-2013", "jcss-pmc-3")
    assert codes(found) == {"assessment-line", "opening-mode-only"}
    assert message(found, "assessment-line") == "failure assessment with the continuous line"
    assert codes(assess_fracture(9.0, 100.0, STEEL, line="older")) == {
        "assessment-line",
        "older-line",
        "opening-mode-only",
        "intensity-small",
    }
    assert assess_fracture(9.0, 100.0, STEEL, line="older").sources == ("r6-revision-3",)


def test_shear_modes_join_by_the_criterion_or_the_largest_of_all() -> None:
    """Energy: K^2 = 3^2 + 4^2; with tearing over 1 - 0.3."""
    sliding = assess_fracture(300.0, 0.0, STEEL, k_sliding_mpa_sqrt_mm=400.0, criterion="energy")
    assert sliding.fracture_ratio.tolist() == pytest.approx([0.25])
    assert message(sliding, "modes-combined") == "modes were combined by the criterion energy"
    assert "opening-mode-only" not in codes(sliding)
    tearing = assess_fracture(300.0, 0.0, STEEL, k_tearing_mpa_sqrt_mm=400.0, criterion="energy")
    assert tearing.fracture_ratio.tolist() == pytest.approx([math.sqrt(9e4 + 16e4 / 0.7) / 2000.0])
    free = assess_fracture(300.0, 0.0, STEEL, k_sliding_mpa_sqrt_mm=400.0)
    assert message(free, "modes-combined") == "modes were combined by the criterion largest"
    assert float(free.fracture_ratio[0]) >= 0.25
    left_out = {"k_tearing_mpa_sqrt_mm": 100.0, "criterion": "tangential-stress"}
    assert "tearing-left-out" in codes(assess_fracture(300.0, 0.0, STEEL, **left_out))  # type: ignore[arg-type]
    with pytest.raises(InputError) as caught:
        assess_fracture(300.0, 0.0, STEEL, criterion="energy")
    assert caught.value.path == ("criterion",)


def test_one_state_beyond_the_interaction_is_not_covered() -> None:
    with pytest.raises(NotCoveredError) as caught:
        assess_fracture([1000.0, 1000.0], 200.0, STEEL, k_secondary_mpa_sqrt_mm=[100.0, 9000.0])
    assert caught.value.path == ("k_secondary_mpa_sqrt_mm",)


@pytest.mark.parametrize(("lr", "share"), [(0.8, 1.0), (0.79, 1.0), (0.9, 0.6), (1.0, 0.2), (1.05, 0.0), (1.2, 0.0)])
def test_the_interaction_fades(lr: float, share: float) -> None:
    """[jcss-pmc-3] chi = 1 and 4: in full up to 0.8, from there 4 (1.05 - Lr) of it."""
    for chi, full in ((1.0, 0.1 - 0.007 + 3e-5), (3.999, 0.1 * 3.999**0.714 - 0.007 * 3.999**2 + 3e-5 * 3.999**5)):
        assert float(interaction_term(lr, 100.0, 100.0 * chi / lr)) == pytest.approx(share * full, abs=1e-12)


def excess(k: float, reference: float, strength: Strength = STEEL, line: Line = "continuous") -> float:
    return line_excess(np.array([k]), np.array([reference]), strength, line).item()


def test_the_excess_over_the_line_is_that_of_fracture_or_of_collapse() -> None:
    assert excess(1000.0, 0.0) == pytest.approx(-0.5)
    assert excess(2000.0, 0.0) == pytest.approx(0.0)
    assert excess(-500.0, 0.0) == -1.0
    assert excess(0.0, 450.0) == pytest.approx(450.0 / 500.0 - 1.0)
    assert excess(0.0, 1000.0) == pytest.approx(1.0)
    assert 1e5 < excess(0.0, math.inf) < math.inf
    assert excess(1000.0, 200.0) == pytest.approx(0.5 / continuous(0.5, 0.515, 0.1) - 1.0)
    assert excess(1000.0, 440.0) == pytest.approx(0.5 / continuous(1.1, 0.515, 0.1) - 1.0)


def lasting(k: float, held: float, reference: float, together: float, strength: Strength = STEEL) -> float:
    row = np.array([k]), held, np.array([reference]), np.array([together])
    return lasting_excess(*row, strength, "continuous").item()


def test_lasting_stress_counts_as_primary_or_as_secondary_whichever_is_worse() -> None:
    line = continuous(0.5, 0.515, 0.1)
    rho = 0.1 * 0.25**0.714 - 0.007 * 0.25**2 + 3e-5 * 0.25**5
    assert lasting(1000.0, 500.0, 200.0, 200.0) == pytest.approx((0.75 + rho) / line - 1.0)
    assert lasting(1000.0, 500.0, 200.0, 360.0) == pytest.approx(0.75 / continuous(0.9, 0.515, 0.1) - 1.0)
    assert lasting(1000.0, -500.0, 200.0, 100.0) == pytest.approx(0.25 / continuous(0.25, 0.515, 0.1) - 1.0)
    assert lasting(-100.0, 500.0, 0.0, 0.0) == pytest.approx(500.0 / 2000.0 - 1.0)
    assert lasting(1000.0, 0.0, 200.0, 200.0) == pytest.approx(0.5 / line - 1.0)


def test_beyond_what_is_known_of_the_interaction_a_crack_is_critical() -> None:
    """chi = Ks Lr / Kp = 4.5: a material so tough that nothing else makes it critical."""
    tough = Strength(yield_strength_mpa=400.0, ultimate_strength_mpa=600.0, toughness_mpa_sqrt_mm=1e6)
    assert lasting(1000.0, 9000.0, 200.0, 200.0, tough) == 1.0
    assert lasting(1000.0, 7900.0, 200.0, 200.0, tough) < 0.0


@pytest.mark.parametrize(
    ("lost", "membrane", "bending", "expected"),
    [
        (0.5, 100.0, 0.0, 200.0),
        (0.995, 100.0, 0.0, 20_000.0),
        (0.5, 0.0, 60.0, 160.0),  # 2 M / 3 over the square of the ligament
        (0.5, 40.0, 60.0, (60.0 + math.hypot(60.0, 60.0)) / 0.75),
        (0.5, -40.0, -60.0, (60.0 + math.hypot(60.0, 60.0)) / 0.75),
        (1.0, 40.0, 0.0, math.inf),
        (1.5, 40.0, 0.0, math.inf),
    ],
)
def test_reference_stress_of_a_plate(lost: float, membrane: float, bending: float, expected: float) -> None:
    """[bs-7910-2013] (Pb + sqrt(Pb^2 + 9 Pm^2 left^2)) / (3 left^2)."""
    assert float(reference_stress.plate_reference_mpa(lost, membrane, bending)) == pytest.approx(expected)


def test_a_free_edge_crack_bends_its_ligament() -> None:
    """The force has an arm of half the crack: 3 a/W Pm of bending; relieved by bending that closes."""
    free = reference_stress.edge_free_reference_mpa
    assert float(free(0.5, 40.0, 0.0)) == pytest.approx((60.0 + math.hypot(60.0, 60.0)) / 0.75)
    assert float(free(0.5, 40.0, -60.0)) == pytest.approx(80.0)


def test_a_critical_size_may_be_either_end_of_the_search() -> None:
    assert critical_size_mm(lambda size: size - 1.0, 1.0, 10.0) == 1.0
    assert critical_size_mm(lambda size: 0.0 if size >= 10.0 else -1.0, 1.0, 10.0) == pytest.approx(10.0)
    assert critical_size_mm(lambda size: -1.0, 1.0, 10.0) is None


def critical(stress: Stress, crack: Any = None, strength: Strength | None = None, **more: Any) -> CriticalOutcome:
    hard = Strength(yield_strength_mpa=1000.0, ultimate_strength_mpa=1500.0, toughness_mpa_sqrt_mm=2000.0)
    return find_critical_size(crack or CentreCrack(half_length_mm=0.5), stress, strength or hard, **more)


def half_length(stress_mpa: float) -> float:
    """S sqrt(pi a) = f(S / yield) Kmat; mu = 0.206."""
    return float((continuous(stress_mpa / 1000.0, 0.206, 0.1) * 2000.0 / stress_mpa) ** 2 / math.pi)


def test_the_largest_load_factor_decides_and_one_that_closes_the_crack_is_doubted() -> None:
    found = critical(Stress(membrane_mpa=200.0), maximum=2.0)
    assert found.critical_mm == pytest.approx(half_length(400.0), rel=1e-9)
    assert found.load_ratio_to_yield == pytest.approx(0.4)
    assert found.critical_half_length_mm is None
    assert "load-closes-crack" not in codes(found)
    for closing in (-1.0, 0.0):
        assert {"load-closes-crack", "not-critical"} <= codes(critical(Stress(membrane_mpa=100.0), maximum=closing))


def test_lasting_compression_is_not_credited() -> None:
    found = critical(Stress(membrane_mpa=400.0, static_membrane_mpa=-200.0))
    assert found.critical_mm == pytest.approx(half_length(400.0), rel=1e-9)
    assert {"lasting-stress-not-credited", "lasting-stress"} <= codes(found)
    assert "-200 MPa membrane and 0 MPa bending" in message(found, "lasting-stress")
    assert "lasting-stress-not-credited" not in codes(critical(Stress(membrane_mpa=400.0, static_membrane_mpa=200.0)))
    assert "lasting-stress" not in codes(critical(Stress(membrane_mpa=400.0)))


def test_the_unloaded_state_decides_where_the_load_closes_the_crack() -> None:
    """Under the load the lasting part counts as secondary stress, at the smaller reference stress of the load."""
    found = critical(Stress(membrane_mpa=-100.0, static_membrane_mpa=400.0))
    assert found.critical_mm == pytest.approx(half_length(400.0), rel=1e-9)
    loaded = (continuous(0.1, 0.206, 0.1) * 2000.0 / 400.0) ** 2 / math.pi
    said = message(found, "unloaded-state-decides")
    assert (
        f"a crack of {figure(half_length(400.0))} mm critical, under the load one of {figure(loaded)} mm would be"
        in said
    )
    assert found.load_ratio_to_yield == pytest.approx(0.4)
    assert found.fracture_ratio == pytest.approx(continuous(0.4, 0.206, 0.1))


def test_residual_stress_is_asked_for_where_none_is_given() -> None:
    assert "no-residual-stress" in codes(critical(Stress(membrane_mpa=400.0)))
    assert "no-residual-stress" in codes(critical(Stress(membrane_mpa=400.0, static_membrane_mpa=-1.0)))
    assert "no-residual-stress" not in codes(critical(Stress(membrane_mpa=400.0, static_membrane_mpa=1.0)))


def test_a_critical_surface_crack_keeps_its_shape_inside_the_plate() -> None:
    long = SurfaceCrack(depth_mm=1.0, half_length_mm=4.0, thickness_mm=20.0, half_width_mm=40.0)
    found = critical(Stress(membrane_mpa=400.0), long, STEEL)
    assert found.critical_mm is not None
    assert found.critical_half_length_mm == pytest.approx(4.0 * found.critical_mm)
    never = critical(Stress(membrane_mpa=1.0), long, STEEL)
    assert (never.critical_mm, never.critical_half_length_mm, never.load_ratio_to_yield) == (None, None, None)
    assert "wide-plate" not in codes(found)


def test_a_path_is_named_by_its_sources_and_by_what_of_the_wall_it_leaves() -> None:
    edge = EdgeCrack(depth_mm=1.0, width_mm=20.0)
    path = critical(Stress(distance_mm=(0.0, 10.0), stress_mpa=(400.0, 400.0)), edge, STEEL)
    assert 0.0 < (path.critical_mm or 0.0) < 10.0
    assert "path-shorter-than-wall" in codes(path)
    assert "depth-mm-outside" not in codes(path)
    never = critical(Stress(distance_mm=(0.0, 10.0), stress_mpa=(1e-3, 1e-3)), edge, STEEL)
    assert {"not-critical", "depth-mm-outside"} <= codes(never)
    assert {"weight-universal-1991", "weight-surface-1991"} <= set(path.sources)
    plain = critical(Stress(membrane_mpa=400.0), edge, STEEL)
    assert not {"weight-universal-1991", "weight-surface-1991"} & set(plain.sources)
