"""Ends of growth by their state: at the final size the criterion that ended growth is computed here anew,
with formulas of this file alone, and met. Formulas: elastic solutions of the stress analysis handbook (centre
crack in a wide plate, edge crack by tangent and sine), equilibrium of the ligament, assessment lines as the
editions print them, energy release rate.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from scipy.integrate import quad

from fatcore.cracks.configurations.plates import SurfaceCrack
from fatcore.cracks.configurations.sharing import Member, Sharing
from fatcore.cracks.configurations.straight import CentreCrack, EdgeCrack
from fatcore.cracks.configurations.stress_field import Stress
from fatcore.cracks.driving.law import paris
from fatcore.cracks.driving.load_blocks import block_loading, constant_loading
from fatcore.cracks.fracture.assessment import Line, Strength
from fatcore.cracks.fracture.critical_size import find_critical_size
from fatcore.cracks.growth.end_criteria import EndCriteria
from fatcore.cracks.growth.life import GrowthOutcome, grow

STEEL = Strength(yield_strength_mpa=355.0, ultimate_strength_mpa=510.0, toughness_mpa_sqrt_mm=3000.0)
WIDE = CentreCrack(half_length_mm=2.0)
STRIP = CentreCrack(half_length_mm=2.0, width_mm=100.0, thickness_mm=10.0)
EDGE = EdgeCrack(depth_mm=1.0, width_mm=40.0, thickness_mm=10.0, form="handbook")
PLATE = SurfaceCrack(depth_mm=1.0, half_length_mm=3.0, thickness_mm=20.0, half_width_mm=200.0)


def grown(crack: Any, stress: Stress, end: EndCriteria, factors: tuple[float, float] = (1.0, 0.0), **more: Any) -> Any:
    return grow(
        crack=crack,
        stress=stress,
        law=paris(5.21e-13, 3.0),
        loading=constant_loading(*factors),
        end=end,
        **more,
    )


def half_length(outcome: GrowthOutcome) -> float:
    assert outcome.final_half_length_mm is not None
    return outcome.final_half_length_mm


def depth(outcome: GrowthOutcome) -> float:
    assert outcome.final_depth_mm is not None
    return outcome.final_depth_mm


def edge_tension(alpha: float) -> float:
    """Handbook factor of the edge crack in tension (tangent and sine)."""
    x = np.pi * alpha / 2.0
    return float(np.sqrt(np.tan(x) / x) * (0.752 + 2.02 * alpha + 0.37 * (1.0 - np.sin(x)) ** 3) / np.cos(x))


def line_value(lr: float, line: Line) -> float:
    """Assessment lines written anew from the editions [bs-7910-2013], [r6-revision-3]."""
    yield_mpa, ultimate, young = 355.0, 510.0, 206000.0
    if line == "older":
        return float((1.0 - 0.14 * lr**2) * (0.3 + 0.7 * np.exp(-0.65 * lr**6)))

    def below(x: float) -> float:
        root = (1.0 + 0.5 * x**2) ** -0.5
        mu = min(0.001 * young / yield_mpa, 0.6)
        return float(root if line == "plateau" else root * (0.3 + 0.7 * np.exp(-mu * x**6)))

    n = 0.3 * (1.0 - yield_mpa / ultimate)
    if lr < 1.0:
        return below(lr)
    at_one = below(1.0)
    if line == "plateau":
        stretch = 1.0 + young * 0.0375 * (1.0 - 0.001 * yield_mpa) / yield_mpa
        at_one = (stretch + 1.0 / (2.0 * stretch)) ** -0.5
    return at_one * lr ** ((n - 1.0) / (2.0 * n))


def test_toughness_is_the_stress_intensity_at_the_end() -> None:
    wide = grown(WIDE, Stress(membrane_mpa=120.0), EndCriteria(toughness_mpa_sqrt_mm=2000.0))
    assert wide.end_reason == "fracture"
    assert 120.0 * np.sqrt(np.pi * half_length(wide)) == pytest.approx(2000.0, rel=1e-9)
    edge = grown(EDGE, Stress(membrane_mpa=120.0), EndCriteria(toughness_mpa_sqrt_mm=2000.0))
    size = depth(edge)
    k = 120.0 * np.sqrt(np.pi * size) * edge_tension(size / 40.0)
    assert k == pytest.approx(2000.0, rel=1e-9)


def test_lasting_stress_counts_for_the_toughness() -> None:
    stress = Stress(membrane_mpa=120.0, static_membrane_mpa=50.0)
    end = grown(WIDE, stress, EndCriteria(toughness_mpa_sqrt_mm=2000.0))
    assert 170.0 * np.sqrt(np.pi * half_length(end)) == pytest.approx(2000.0, rel=1e-9)


@pytest.mark.parametrize("bending", [0.0, 40.0, -40.0])
def test_ligament_of_an_edge_crack_is_fully_plastic_at_the_end(bending: float) -> None:
    """Force and moment about the middle of the ligament on a rectangle: n^2 + 4 m = 1."""
    stress = Stress(membrane_mpa=100.0, bending_mpa=bending)
    outcome = grown(EDGE, stress, EndCriteria(yield_strength_mpa=300.0))
    assert outcome.end_reason == "ligament-yield"
    alpha = depth(outcome) / 40.0
    left = 1.0 - alpha
    force = 100.0 / (300.0 * left)
    moment = abs(bending / 6.0 + 100.0 * alpha / 2.0) / (300.0 * left**2)
    assert force**2 + 4.0 * moment == pytest.approx(1.0, rel=1e-9)


def test_ligaments_of_a_through_crack_yield_at_the_end() -> None:
    outcome = grown(STRIP, Stress(membrane_mpa=100.0), EndCriteria(yield_strength_mpa=300.0))
    assert 100.0 / (1.0 - 2.0 * half_length(outcome) / 100.0) == pytest.approx(300.0, rel=1e-9)


def test_larger_end_of_the_cycle_decides_on_collapse() -> None:
    outcome = grown(STRIP, Stress(membrane_mpa=100.0), EndCriteria(yield_strength_mpa=300.0), (1.0, -2.0))
    assert 200.0 / (1.0 - 2.0 * half_length(outcome) / 100.0) == pytest.approx(300.0, rel=1e-9)


def test_surface_crack_yields_by_its_own_share_of_the_section() -> None:
    """Effective area of a plate that is wider than the crack and twice its thickness [bs-7910-2013]."""
    outcome = grown(PLATE, Stress(membrane_mpa=150.0, bending_mpa=60.0), EndCriteria(yield_strength_mpa=250.0))
    assert outcome.end_reason == "ligament-yield"
    left = 1.0 - (depth(outcome) / 20.0) / (1.0 + 20.0 / half_length(outcome))
    level = (60.0 + np.sqrt(60.0**2 + 9.0 * 150.0**2 * left**2)) / (3.0 * left**2)
    assert level == pytest.approx(250.0, rel=1e-9)


@pytest.mark.parametrize("line", ["continuous", "plateau", "older"])
@pytest.mark.parametrize("stress_mpa", [60.0, 200.0, 330.0])
def test_state_lies_on_the_assessment_line_at_the_end(line: Line, stress_mpa: float) -> None:
    outcome = grown(WIDE, Stress(membrane_mpa=stress_mpa), EndCriteria(strength=STEEL, line=line))
    assert outcome.end_reason == "failure-assessment"
    ratio = stress_mpa * np.sqrt(np.pi * half_length(outcome)) / 3000.0
    assert ratio == pytest.approx(line_value(stress_mpa / 355.0, line), rel=1e-9)


def test_strip_collapses_where_the_mean_of_both_strengths_is_reached() -> None:
    tough = Strength(yield_strength_mpa=355.0, ultimate_strength_mpa=510.0, toughness_mpa_sqrt_mm=1e6)
    outcome = grown(STRIP, Stress(membrane_mpa=150.0), EndCriteria(strength=tough))
    assert outcome.end_reason == "failure-assessment"
    level = 150.0 / (1.0 - 2.0 * half_length(outcome) / 100.0)
    assert level == pytest.approx(0.5 * (355.0 + 510.0), rel=1e-9)


@pytest.mark.parametrize(("load_mpa", "lasting_mpa"), [(100.0, 100.0), (30.0, 60.0)])
def test_lasting_stress_is_the_worse_of_primary_and_secondary_at_the_end(load_mpa: float, lasting_mpa: float) -> None:
    """The state is written anew both ways; interaction term by the printed polynomial [jcss-pmc-3]."""
    stress = Stress(membrane_mpa=load_mpa, static_membrane_mpa=lasting_mpa)
    size = half_length(grown(WIDE, stress, EndCriteria(strength=STEEL)))
    both = load_mpa + lasting_mpa
    ratio = both * np.sqrt(np.pi * size) / 3000.0
    as_primary = ratio / line_value(both / 355.0, "continuous")
    chi = lasting_mpa / 355.0
    rho = 0.1 * chi**0.714 - 0.007 * chi**2 + 3e-5 * chi**5
    as_secondary = (ratio + rho) / line_value(load_mpa / 355.0, "continuous")
    assert max(as_primary, as_secondary) == pytest.approx(1.0, rel=1e-9)
    critical = find_critical_size(WIDE, stress, STEEL)
    assert critical.critical_mm == pytest.approx(size, rel=1e-9)
    low = as_secondary > as_primary
    assert critical.load_ratio_to_yield == pytest.approx((load_mpa if low else both) / 355.0)


def test_lasting_stress_beyond_the_interaction_counts_as_critical() -> None:
    heavy = Stress(membrane_mpa=1.0, static_membrane_mpa=300.0)
    sizes = [
        half_length(grown(STRIP, stress, EndCriteria(strength=STEEL), (1.0, 0.9)))
        for stress in (heavy, Stress(membrane_mpa=301.0))
    ]
    assert sizes[0] <= sizes[1] * (1.0 + 1e-9)


@pytest.mark.parametrize("ratio", [0.99, 0.9, 0.7])
def test_stiffness_is_the_ratio_asked_at_the_end(ratio: float) -> None:
    """Displacement and turning of the ends held, tension only: the compliance that the crack adds is the
    integral of 2 K^2 / E' over its area for unit force; the rest is that of a bar."""
    around = Sharing(length_mm=300.0, grips="rigid", control="displacement", plane="stress")
    outcome = grown(STRIP, Stress(membrane_mpa=100.0), EndCriteria(stiffness_ratio=ratio), sharing=around)
    assert outcome.end_reason == "stiffness"
    size, young = half_length(outcome), 206000.0

    def release(a: float) -> float:
        x = 2.0 * a / 100.0
        factor = (1.0 - 0.025 * x**2 + 0.06 * x**4) / np.sqrt(np.cos(np.pi * x / 2.0))
        return float(2.0 / young * np.pi * a * factor**2 / 1000.0**2 * 2.0 * 10.0)

    bar = 300.0 / (young * 1000.0)
    added = quad(release, 0.0, size, epsrel=1e-12)[0]
    assert bar / (bar + added) == pytest.approx(ratio, abs=1e-7)


@pytest.mark.parametrize("ratio", [0.995, 0.9, 0.81])
@pytest.mark.parametrize("entries", [1, 30, 250])
def test_stiffness_of_any_crack_is_the_ratio_asked(ratio: float, entries: int) -> None:
    beside = (Member(axial_stiffness_n_per_mm=1e4, rotational_stiffness_nmm=1e7),)
    around = Sharing(length_mm=60.0, grips="free", members=beside)
    top = np.linspace(0.4, 1.0, entries)
    outcome = grow(
        crack=EdgeCrack(depth_mm=1.0, width_mm=20.0, thickness_mm=10.0),
        stress=Stress(membrane_mpa=100.0, bending_mpa=20.0),
        law=paris(5.21e-13, 3.0, threshold_mpa_sqrt_mm=60.0),
        loading=block_loading(top, 0.0 * top, 1.0 + 0.0 * top),
        end=EndCriteria(stiffness_ratio=ratio),
        sharing=around,
    )
    assert outcome.end_reason == "stiffness"
    assert outcome.history.stiffness_ratio is not None
    assert outcome.history.stiffness_ratio[-1] == pytest.approx(ratio, abs=1e-7)


def test_sizes_and_cycles_are_those_asked_at_the_end() -> None:
    stress = Stress(membrane_mpa=100.0)
    assert depth(grown(PLATE, stress, EndCriteria(depth_mm=7.0))) == pytest.approx(7.0, rel=1e-9)
    assert half_length(grown(PLATE, stress, EndCriteria(half_length_mm=11.0))) == pytest.approx(11.0, rel=1e-9)
    assert grown(PLATE, stress, EndCriteria(cycles=12345.0)).life_cycles == pytest.approx(12345.0, rel=1e-9)
    assert depth(grown(PLATE, stress, EndCriteria())) == pytest.approx(20.0, rel=1e-9)
    assert depth(grown(EDGE, stress, EndCriteria())) == pytest.approx(0.99 * 40.0, rel=1e-9)


def test_crack_that_is_at_its_end_from_the_start_has_no_life() -> None:
    ends = (
        EndCriteria(depth_mm=0.5),
        EndCriteria(toughness_mpa_sqrt_mm=10.0),
        EndCriteria(yield_strength_mpa=50.0),
        EndCriteria(strength=Strength(yield_strength_mpa=80.0, ultimate_strength_mpa=90.0, toughness_mpa_sqrt_mm=1e4)),
    )
    for end in ends:
        outcome = grown(PLATE, Stress(membrane_mpa=100.0), end)
        assert outcome.life_cycles == 0.0
        assert "ended-at-start" in {f.code for f in outcome.findings}


# the second phase


def through(stress: Stress, **more: Any) -> GrowthOutcome:
    return grown(PLATE, stress, EndCriteria(grow_through=True, **more.pop("end", {})), **more)  # type: ignore[no-any-return]


def test_ends_hold_in_the_second_phase_too() -> None:
    outcome = through(Stress(membrane_mpa=100.0), end={"yield_strength_mpa": 300.0})
    assert outcome.end_reason == "ligament-yield"
    assert 100.0 / (1.0 - half_length(outcome) / 200.0) == pytest.approx(300.0, rel=1e-9)
    cycles = through(Stress(membrane_mpa=100.0)).life_cycles
    assert cycles is not None
    assert through(Stress(membrane_mpa=100.0), end={"cycles": 0.999 * cycles}).end_reason == "cycles"


def test_findings_of_the_second_phase() -> None:
    around = Sharing(length_mm=1000.0, grips="rigid")
    codes = [f.code for f in through(Stress(membrane_mpa=100.0), sharing=around).findings]
    assert {"through-crack", "relative-depth-outside", "rigid-grips-deep-crack"} <= set(codes)


def test_second_phase_that_is_over_at_once_says_so() -> None:
    """Bending counts in full once the crack is through, so that its intensity jumps beyond the toughness."""
    stress = Stress(membrane_mpa=20.0, bending_mpa=200.0)
    surface_only = grown(PLATE, stress, EndCriteria(), condition="as-welded")
    history = surface_only.history
    assert history.delta_k_surface_mpa_sqrt_mm is not None
    both = (history.delta_k_deepest_mpa_sqrt_mm, history.delta_k_surface_mpa_sqrt_mm)
    before = float(np.max(both))
    after = 220.0 * np.sqrt(np.pi * half_length(surface_only))
    assert before < 0.9 * after
    outcome = through(stress, end={"toughness_mpa_sqrt_mm": 0.5 * (before + after)})
    assert outcome.end_reason == "fracture"
    assert half_length(outcome) == pytest.approx(half_length(surface_only), rel=1e-6)
    assert "ended-at-break-through" in {f.code for f in outcome.findings}
