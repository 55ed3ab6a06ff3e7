"""Single rules of growing cracks: what is refused at its bound, and what a finding names."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from fatcore.cracks.configurations.intensity_table import IntensityTable
from fatcore.cracks.configurations.plates import SurfaceCrack
from fatcore.cracks.configurations.sharing import Member, Section, Sharing, sharing_findings
from fatcore.cracks.configurations.straight import EdgeCrack
from fatcore.cracks.configurations.stress_field import Stress, Stressed
from fatcore.cracks.configurations.table_crack import TabledCrack
from fatcore.cracks.driving import loading
from fatcore.cracks.driving.law import paris
from fatcore.cracks.driving.load_blocks import CrackLoading, Retardation, block_loading, constant_loading
from fatcore.cracks.fracture.assessment import Strength, assess_fracture
from fatcore.cracks.growth import detection, inspection
from fatcore.cracks.growth._phase import run_phase
from fatcore.cracks.growth.end_criteria import EndCriteria
from fatcore.cracks.growth.life import GrowthOutcome, grow
from fatcore.cracks.intensity.weight_function import intensity as weight
from fatcore.cracks.intensity.weight_function.intensity import stress_intensity
from fatcore.cracks.intensity.weight_function.profiles import PathProfile
from fatcore.errors import InputError, NotCoveredError
from fatcore.figures import figure

CYCLES, SIZES = [0.0, 1e5, 2e5], [1.0, 3.0, 9.0]
STEEL = paris(5.21e-13, 3.0)


def codes(outcome: GrowthOutcome) -> set[str]:
    return {finding.code for finding in outcome.findings}


@pytest.mark.parametrize("probability", [0.0, 1.0])
def test_no_size_is_found_never_or_always(probability: float) -> None:
    curve = detection.DetectionCurve(median_mm=2.0, exponent=0.9)
    with pytest.raises(InputError, match="between 0 and 1"):
        curve.crack_size_mm(probability)
    assert 0.0 < curve.crack_size_mm(0.01) < curve.crack_size_mm(0.99)


def test_a_crack_detectable_only_at_its_critical_size_is_refused() -> None:
    with pytest.raises(InputError, match="critical before it is detectable"):
        inspection.plan_inspections(CYCLES, SIZES, detectable_mm=9.0)
    assert inspection.plan_inspections(CYCLES, SIZES, detectable_mm=8.999).interval_cycles > 0.0


def test_an_arrested_crack_names_the_largest_range_of_its_block() -> None:
    law = paris(5.21e-13, 3.0, threshold_mpa_sqrt_mm=200.0)
    mix = block_loading([1.0, 0.2], [0.0, 0.0], [10.0, 10.0])
    edge = EdgeCrack(depth_mm=0.5, width_mm=20.0)
    outcome = grow(crack=edge, stress=Stress(membrane_mpa=60.0), law=law, loading=mix)
    (found,) = (finding for finding in outcome.findings if finding.code == "below-threshold")
    largest = float(edge.unit_intensity(np.array([0.5]), np.array([0.5]))[0][0, 0]) * 60.0
    assert f"the largest is {figure(largest)} MPa√mm" in found.message


def test_a_crack_of_one_length_grows_in_it_alone() -> None:
    stressed = Stressed(EdgeCrack(depth_mm=0.5, width_mm=20.0), Stress(membrane_mpa=60.0), None)
    drive = loading.Drive(law=STEEL, loading=constant_loading(), condition="as-welded")
    step = run_phase(stressed, drive, EndCriteria(depth_mm=3.0), 0.0, 1e-7).steps[0]
    assert step.end().depth_share == 1.0


def test_one_impossible_depth_among_possible_ones_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    profile = PathProfile([0.0, 10.0], [100.0, 100.0])
    assert stress_intensity(profile, [1.0, 2.0], thickness_mm=10.0, point="edge").point == "edge"
    monkeypatch.setattr(weight, "profile_intensity", lambda *_: np.array([300.0, np.inf]))
    with pytest.raises(NotCoveredError):
        stress_intensity(profile, [1.0, 2.0], thickness_mm=10.0, point="edge")


@pytest.mark.parametrize(("on", "width", "said"), [(True, 20.0, True), (True, 200.0, False), (False, 20.0, False)])
def test_nothing_is_left_to_go_on_in_only_when_it_was_to_go_on(on: bool, width: float, said: bool) -> None:
    wide = SurfaceCrack(depth_mm=9.9, half_length_mm=19.85, thickness_mm=10.0, half_width_mm=width)
    outcome = grow(
        crack=wide,
        stress=Stress(membrane_mpa=100.0),
        law=STEEL,
        loading=constant_loading(),
        end=EndCriteria(grow_through=on),
    )
    assert ("no-plate-left" in codes(outcome)) == said


@pytest.mark.parametrize(
    ("given", "rigid"),
    [
        ({"series_axial_stiffness_n_per_mm": 1e6}, "rotational"),
        ({"series_rotational_stiffness_nmm": 1e9}, "axial"),
        ({}, "axial and rotational"),
    ],
)
def test_what_is_taken_as_rigid_in_line_with_the_crack_is_named(given: dict[str, float], rigid: str) -> None:
    sharing = Sharing(length_mm=80.0, grips="free", plane="stress", **given)  # type: ignore[arg-type]
    messages = {f.code: f.message for f in sharing_findings(sharing, Section(width_mm=20.0, breadth_mm=5.0), [0.1])}
    assert f"nothing gives way ({rigid})" in messages["sharing-stiffness"]


def test_the_table_crack_has_one_size() -> None:
    table = IntensityTable([1.0, 2.0], {"opening": [100.0, 120.0]})
    assert TabledCrack(crack_size_mm=1.0, table=table).start() == (1.0, 1.0)


@pytest.mark.parametrize(
    ("made", "name"),
    [
        (lambda: Stress(distance_mm=(0.0, 1.0), stress_mpa=(1.0, 1.0), element_size_mm=0.0), "element_size_mm"),
        (lambda: Member(axial_stiffness_n_per_mm=0.0), "axial_stiffness_n_per_mm"),
        (lambda: Member(axial_stiffness_n_per_mm=1.0, rotational_stiffness_nmm=-1.0), "rotational_stiffness_nmm"),
        (lambda: Member(axial_stiffness_n_per_mm=1.0, offset_mm=np.inf), "offset_mm"),
    ],
)
def test_what_is_made_of_impossible_figures_is_refused(made: Callable[[], object], name: str) -> None:
    with pytest.raises(InputError, match=name):
        made()


def test_secondary_tension_adds_to_the_fracture_ratio() -> None:
    """Kr = (Kp + Ks) / Kmat + rho [bs-7910-2013]."""
    steel = Strength(yield_strength_mpa=355.0, ultimate_strength_mpa=510.0, toughness_mpa_sqrt_mm=3000.0)
    pulled, plain = (assess_fracture(1000.0, 200.0, steel, k_secondary_mpa_sqrt_mm=each) for each in (500.0, None))
    rho = float(pulled.interaction_term[0])
    assert float(pulled.fracture_ratio[0]) == pytest.approx(1500.0 / 3000.0 + rho, rel=1e-12)
    assert float(plain.fracture_ratio[0]) == pytest.approx(1000.0 / 3000.0, rel=1e-12)


def test_jumps_are_looked_for_only_where_they_can_be_foreseen() -> None:
    unit = loading.UnitIntensity(np.full((1, 3), 100.0))
    law = paris(5.21e-13, 3.0, threshold_mpa_sqrt_mm=63.0)
    willenborg = Retardation(
        yield_strength_mpa=355.0, model="willenborg", shut_off_ratio=2.5, threshold_mpa_sqrt_mm=63.0
    )
    mix = block_loading([1.0, 2.0], [0.0, 0.0], [100.0, 1.0])
    slowed = block_loading([1.0, 2.0], [0.0, 0.0], [100.0, 1.0], retardation=willenborg)
    many = block_loading(np.linspace(1.0, 2.0, 500), np.zeros(500), np.ones(500))

    def found(entries: CrackLoading) -> object:
        return loading.Drive(law=law, loading=entries, condition="stress-relieved").events(unit)

    assert found(mix) is not None
    assert found(slowed) is None
    assert found(many) is None
