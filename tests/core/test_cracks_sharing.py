"""Load sharing: compliance from the intensity, energy, limits of the model, the flat region."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from fatcore.cracks.configurations.configuration import initial_compliance
from fatcore.cracks.configurations.plates import SurfaceCrack
from fatcore.cracks.configurations.sharing import Member, Section, Sharing, share_load, strain_modulus_mpa
from fatcore.cracks.configurations.straight import CentreCrack, EdgeCrack
from fatcore.cracks.configurations.stress_field import Stress, Stressed
from fatcore.cracks.driving.law import paris
from fatcore.cracks.driving.load_blocks import constant_loading
from fatcore.cracks.growth.end_criteria import EndCriteria
from fatcore.cracks.growth.life import GrowthOutcome, grow
from fatcore.cracks.intensity.plate import edge
from fatcore.cracks.intensity.solid import surface
from fatcore.errors import InputError
from fatcore.require import FloatArray

E = 206000.0
WIDTH, BREADTH = 20.0, 10.0
BESIDE = Member(axial_stiffness_n_per_mm=4e5, rotational_stiffness_nmm=3e7, offset_mm=-35.0)
ARRANGEMENTS = [
    Sharing(length_mm=80.0, control=control, grips=grips, members=members, **more, plane="stress")
    for control, grips, members, more in (
        ("force", "free", (), {}),
        ("force", "rigid", (), {}),
        ("displacement", "rigid", (), {}),
        ("displacement", "free", (), {}),
        ("force", "free", (BESIDE,), {}),
        ("displacement", "flexible", (BESIDE, BESIDE), {"grip_stiffness_nmm": 2e7}),
        ("spring", "flexible", (BESIDE,), {"grip_stiffness_nmm": 2e7, "drive_stiffness_n_per_mm": 1e5}),
        ("spring", "rigid", (), {"drive_stiffness_n_per_mm": 1e5, "series_axial_stiffness_n_per_mm": 3e5}),
        ("force", "flexible", (), {"grip_stiffness_nmm": 5e7, "series_rotational_stiffness_nmm": 4e7}),
    )
]


FORMS = ["accurate", "handbook"]


def crack(alpha: float, form: str = "accurate") -> EdgeCrack:
    return EdgeCrack(depth_mm=alpha * WIDTH, width_mm=WIDTH, thickness_mm=BREADTH, form=form)


def intensity(
    sharing: Sharing | None,
    alpha: float,
    membrane: float = 50.0,
    bending: float = 20.0,
    form: str = "accurate",
) -> float:
    edge = crack(alpha, form)
    stressed = Stressed(edge, Stress(membrane_mpa=membrane, bending_mpa=bending), sharing)
    depth, length = (np.array([x]) for x in edge.start())
    added = initial_compliance(edge, *edge.start())[:, None]
    return float(stressed.unit(depth, length, added).opening[0, 0])


def potential(
    sharing: Sharing, alpha: float, membrane: float = 50.0, bending: float = 20.0, form: str = "accurate"
) -> float:
    added = initial_compliance(crack(alpha, form), alpha * WIDTH, alpha * WIDTH)[:, None]
    return float(share_load(sharing, Section(WIDTH, BREADTH), added, membrane, bending).potential_nmm[0])


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("sharing", ARRANGEMENTS, ids=lambda s: f"{s.control}-{s.grips}-{len(s.members)}")
def test_energy_released_is_the_loss_of_potential(sharing: Sharing, form: str) -> None:
    """Bookkeeping closed to 1e-8: the integral of K^2/E' over the new area is the fall of the potential."""

    def rate(alpha: float) -> float:
        return intensity(sharing, alpha, form=form) ** 2 / E * BREADTH * WIDTH

    released, _ = quad(rate, 0.2, 0.7, epsabs=0.0, epsrel=1e-11)
    lost = potential(sharing, 0.2, form=form) - potential(sharing, 0.7, form=form)
    assert released == pytest.approx(lost, rel=1e-8)


@pytest.mark.parametrize("form", FORMS)
def test_compliance_slope_is_the_intensity(form: str) -> None:
    """dC/dA = 2 K^2 / (E' P^2) to 8 digits, clamped plate at constant force."""
    sharing = Sharing(length_mm=80.0, grips="rigid", plane="stress")
    force = 50.0 * WIDTH * BREADTH
    step = 2e-4

    def compliance(alpha: float) -> float:
        return -2.0 * potential(sharing, alpha, 50.0, 0.0, form) / force**2

    c = [compliance(0.4 + i * step) for i in (-3, -2, -1, 1, 2, 3)]
    slope = (c[5] - c[0] - 9.0 * (c[4] - c[1]) + 45.0 * (c[3] - c[2])) / (60.0 * step)
    by_intensity = 2.0 * intensity(sharing, 0.4, 50.0, 0.0, form) ** 2 / (E * force**2) * BREADTH * WIDTH
    assert slope == pytest.approx(by_intensity, rel=1e-8)


@given(alpha=st.floats(0.05, 0.9), length=st.floats(2.0, 20.0))
def test_clamped_ends_give_the_closed_form(alpha: float, length: float) -> None:
    found = intensity(Sharing(length_mm=length * WIDTH, grips="rigid", plane="stress"), alpha, 50.0, 0.0)
    expected = 50.0 * np.sqrt(np.pi * alpha * WIDTH) * float(edge.clamped(alpha, length, "accurate"))
    assert found == pytest.approx(expected, rel=1e-8)


def test_nothing_around_leaves_the_load_constant() -> None:
    alone = Sharing(length_mm=80.0, grips="free", plane="stress")
    assert intensity(alone, 0.5) == pytest.approx(intensity(None, 0.5), rel=1e-12)


def test_stiff_neighbour_is_displacement_control_and_soft_one_is_force_control() -> None:
    """Limits of a parallel stiffness, ends that cannot turn."""

    def beside(stiffness: float) -> Sharing:
        return Sharing(
            length_mm=80.0,
            members=(Member(axial_stiffness_n_per_mm=stiffness),),
            grips="rigid",
            plane="stress",
        )

    held = Sharing(length_mm=80.0, control="displacement", grips="rigid", plane="stress")
    assert intensity(beside(1e14), 0.5) == pytest.approx(intensity(held, 0.5), rel=1e-6)
    assert intensity(beside(1e-4), 0.5) == pytest.approx(
        intensity(Sharing(length_mm=80.0, grips="rigid", plane="stress"), 0.5), rel=1e-6
    )


def test_drive_spring_lies_between_force_and_displacement() -> None:
    values = [
        intensity(
            Sharing(length_mm=80.0, control="spring", drive_stiffness_n_per_mm=k, grips="rigid", plane="stress"),
            0.6,
        )
        for k in (1e-3, 1e4, 1e6, 1e14)
    ]
    assert values == sorted(values, reverse=True)
    assert values[0] == pytest.approx(intensity(Sharing(length_mm=80.0, grips="rigid", plane="stress"), 0.6), rel=1e-6)
    held = Sharing(length_mm=80.0, control="displacement", grips="rigid", plane="stress")
    assert values[-1] == pytest.approx(intensity(held, 0.6), rel=1e-6)


def test_flexible_grip_lies_between_free_and_rigid() -> None:
    stiff, soft = (
        Sharing(length_mm=80.0, grips="flexible", grip_stiffness_nmm=k, plane="stress") for k in (1e16, 1e-3)
    )
    assert intensity(stiff, 0.5) == pytest.approx(
        intensity(Sharing(length_mm=80.0, grips="rigid", plane="stress"), 0.5), rel=1e-6
    )
    free = Sharing(length_mm=80.0, grips="free", plane="stress")
    assert intensity(soft, 0.5) == pytest.approx(intensity(free, 0.5), rel=1e-6)


def test_soft_series_part_keeps_the_force() -> None:
    soft = Sharing(
        length_mm=80.0,
        control="displacement",
        series_axial_stiffness_n_per_mm=1e-3,
        grips="rigid",
        plane="stress",
    )
    assert intensity(soft, 0.5, 50.0, 0.0) == pytest.approx(
        intensity(Sharing(length_mm=80.0, grips="rigid", plane="stress"), 0.5, 50.0, 0.0), rel=1e-6
    )


def grown(sharing: Sharing | None, end: EndCriteria | None = None) -> GrowthOutcome:
    return grow(
        crack=crack(0.05),
        stress=Stress(membrane_mpa=50.0),
        law=paris(5.21e-13, 3.0),
        loading=constant_loading(),
        sharing=sharing,
        end=end or EndCriteria(depth_mm=16.0),
    )


@pytest.mark.parametrize("form", FORMS)
def test_displacement_control_flattens_the_intensity(form: str) -> None:
    """K within 4 % from a/W 0.5 to 0.7 at H/W = 4, while under constant load it more than doubles."""
    held = Sharing(length_mm=80.0, control="displacement", grips="rigid", plane="stress")
    alphas = np.linspace(0.5, 0.7, 41)
    flat = np.array([intensity(held, a, 50.0, 0.0, form) for a in alphas])
    rising = np.array([intensity(None, a, 50.0, 0.0, form) for a in alphas])
    assert flat.max() / flat.min() < 1.04
    assert rising[-1] / rising[0] > 2.0


@pytest.mark.parametrize(
    ("form", "code", "source"),
    [
        ("accurate", "edge-factors-accurate", "edge-collocation"),
        ("handbook", "edge-factors-handbook", "tada-paris-irwin-2000"),
    ],
)
def test_answer_says_which_edge_factors_it_rests_on(form: str, code: str, source: str) -> None:
    outcome = grow(
        crack=crack(0.05, form),
        stress=Stress(membrane_mpa=50.0),
        law=paris(5.21e-13, 3.0),
        loading=constant_loading(),
        sharing=Sharing(length_mm=80.0, grips="rigid", plane="stress"),
    )
    assert code in {f.code for f in outcome.findings}
    assert {"edge-collocation", "tada-paris-irwin-2000"} & set(outcome.sources) == {source}
    assert crack(0.05).form == "accurate"


def test_joint_with_offset_members_against_a_linear_system() -> None:
    """Crosshead that moves and turns, two members off the axis: assembled and solved apart from the model."""
    members = ((3e5, 2e7, 30.0), (2e5, 0.0, -40.0))
    sharing = Sharing(
        length_mm=80.0,
        grips="free",
        members=tuple(
            Member(axial_stiffness_n_per_mm=k, rotational_stiffness_nmm=r, offset_mm=e) for k, r, e in members
        ),
        plane="stress",
    )
    added = initial_compliance(crack(0.5), 10.0, 10.0)
    area, modulus = WIDTH * BREADTH, BREADTH * WIDTH**2 / 6.0
    found = share_load(sharing, Section(WIDTH, BREADTH), added[:, None], 50.0, 20.0)

    def stiffness(integrals: FloatArray) -> FloatArray:
        coupling = 2.0 * integrals[1] / (E * area * modulus)
        extension = 80.0 / (E * area) + 2.0 * integrals[0] / (E * area**2)
        rotation = 80.0 / (E * BREADTH * WIDTH**3 / 12.0) + 2.0 * integrals[2] / (E * modulus**2)
        return np.linalg.inv([[extension, coupling], [coupling, rotation]])

    around = sum(np.array([[k, k * e], [k * e, r + k * e * e]]) for k, r, e in members)
    whole = np.array([50.0 * area, 20.0 * modulus])
    start = np.linalg.solve(stiffness(np.zeros(3)), whole)
    load = (stiffness(np.zeros(3)) + around) @ start
    moved = np.linalg.solve(stiffness(added) + around, load)
    force, moment = stiffness(added) @ moved
    assert float(found.membrane_mpa[0]) == pytest.approx(force / area, rel=1e-8)
    assert float(found.bending_mpa[0]) == pytest.approx(moment / modulus, rel=1e-8)
    held = [(k * (moved[0] + e * moved[1]), r * moved[1], e) for k, r, e in members]
    assert force + sum(f for f, _, _ in held) == pytest.approx(load[0], rel=1e-10)
    assert moment + sum(f * e + m for f, m, e in held) == pytest.approx(load[1], rel=1e-10)


def test_growth_follows_the_direct_intensity() -> None:
    """The compliance summed along the growth equals that of the crack: exact at the end of a step, within
    1e-5 between, where the columns are interpolated."""
    held = Sharing(length_mm=80.0, control="displacement", grips="rigid", plane="stress")
    history = grown(held).history
    for i in range(0, history.depth_mm.size, 7):
        direct = intensity(held, float(history.depth_mm[i]) / WIDTH, 50.0, 0.0)
        assert history.delta_k_deepest_mpa_sqrt_mm[i] == pytest.approx(direct, rel=1e-5)
    assert history.delta_k_deepest_mpa_sqrt_mm[-1] == pytest.approx(intensity(held, 0.8, 50.0, 0.0), rel=1e-8)


def test_shared_life_against_quadrature() -> None:
    held = Sharing(length_mm=80.0, control="displacement", grips="rigid", plane="stress")
    outcome = grown(held)

    def slowness(alpha: float) -> float:
        return WIDTH / (5.21e-13 * intensity(held, alpha, 50.0, 0.0) ** 3)

    expected, _ = quad(slowness, 0.05, 0.8, epsabs=0.0, epsrel=1e-10)
    assert outcome.life_cycles == pytest.approx(expected, rel=1e-8)
    alone = grown(None).life_cycles
    assert outcome.constant_load_life_cycles == pytest.approx(alone, rel=1e-9)
    assert outcome.life_extension_factor == pytest.approx(expected / (alone or 1.0), rel=1e-8)


def test_stiffness_drop_ends_growth() -> None:
    held = Sharing(length_mm=80.0, control="displacement", grips="rigid", plane="stress")
    outcome = grown(held, EndCriteria(stiffness_ratio=0.8))
    assert outcome.end_reason == "stiffness"
    assert outcome.history.stiffness_ratio is not None
    assert outcome.history.stiffness_ratio[-1] == pytest.approx(0.8, rel=1e-7)
    assert outcome.history.load_share is not None
    assert outcome.history.load_share[-1] == pytest.approx(0.8, rel=1e-7)


def test_centre_crack_compliance_against_quadrature() -> None:
    crack = CentreCrack(half_length_mm=10.0, width_mm=50.0, thickness_mm=4.0)
    added = initial_compliance(crack, 10.0, 10.0)

    def slope(a: float) -> float:
        return float(crack.unit_intensity(np.array([a]), np.array([a]))[0][0, 0]) ** 2 * 2.0 * 4.0

    assert added[0] == pytest.approx(quad(slope, 0.0, 10.0)[0], rel=1e-10)
    assert added[1] == added[2] == 0.0


def test_surface_crack_sheds_little_before_it_is_through() -> None:
    crack = SurfaceCrack(depth_mm=0.5, half_length_mm=1.0, thickness_mm=10.0, half_width_mm=40.0)
    outcome = grow(
        crack=crack,
        stress=Stress(membrane_mpa=100.0),
        law=paris(5.21e-13, 3.0),
        loading=constant_loading(),
        sharing=Sharing(length_mm=200.0, control="displacement", plane="strain", grips="rigid"),
        end=EndCriteria(grow_through=True),
    )
    share: FloatArray | None = outcome.history.load_share
    assert share is not None
    through = outcome.history.depth_mm >= 10.0
    assert share[~through].min() > 0.8
    assert share[-1] < 0.5
    assert (outcome.life_extension_factor or 0.0) > 1.0
    codes = {f.code for f in outcome.findings}
    assert "through-crack" in codes


def test_plane_strain_stiffens_the_crack() -> None:
    assert strain_modulus_mpa(Sharing(length_mm=1.0, plane="strain", grips="rigid")) == pytest.approx(E / 0.91)


def test_limits_are_spoken_of() -> None:
    short = grown(Sharing(length_mm=20.0, grips="rigid", plane="stress"))
    assert "length-over-width-outside" in {f.code for f in short.findings}
    deep = grown(Sharing(length_mm=80.0, grips="rigid", plane="stress"), EndCriteria(depth_mm=19.0))
    assert {"relative-depth-outside", "rigid-grips-deep-crack"} <= {f.code for f in deep.findings}
    alone = grown(Sharing(length_mm=80.0, grips="free", plane="stress"))
    assert "nothing-shares" in {f.code for f in alone.findings}
    assert alone.life_extension_factor == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("values", "field"),
    [
        ({"length_mm": -1.0}, "length_mm"),
        ({"length_mm": 1.0, "grips": "flexible"}, "grip_stiffness_nmm"),
        ({"length_mm": 1.0, "grip_stiffness_nmm": 1.0}, "grip_stiffness_nmm"),
        ({"length_mm": 1.0, "control": "spring"}, "drive_stiffness_n_per_mm"),
        ({"length_mm": 1.0, "series_axial_stiffness_n_per_mm": 0.0}, "series_axial_stiffness_n_per_mm"),
        ({"length_mm": 1.0, "poisson_ratio": 0.5}, "poisson_ratio"),
    ],
)
def test_bad_sharing_is_refused(values: dict[str, float], field: str) -> None:
    with pytest.raises(InputError) as caught:
        Sharing(**{"grips": "rigid"} | values)  # type: ignore[arg-type]
    assert caught.value.path == (field,)


def test_bad_members_are_refused() -> None:
    with pytest.raises(InputError, match="axial_stiffness"):
        Member(axial_stiffness_n_per_mm=0.0)
    with pytest.raises(InputError, match="width of the plate"):
        _ = SurfaceCrack(depth_mm=1.0, half_length_mm=1.0, thickness_mm=5.0).section
    with pytest.raises(InputError, match="width of the plate"):
        _ = CentreCrack(half_length_mm=1.0).section
    with pytest.raises(InputError, match="thickness of the plate"):
        _ = EdgeCrack(depth_mm=1.0, width_mm=5.0).section


def test_compliance_of_a_surface_crack_is_the_energy_that_its_front_releases() -> None:
    """Irwin: K^2 for each area swept, which is a c for each angle; the core takes 10 angles of a front."""
    crack = SurfaceCrack(depth_mm=2.0, half_length_mm=5.0, thickness_mm=12.0, half_width_mm=60.0)
    depth, length = np.array([2.0]), np.array([5.0])
    per_depth, per_length = crack.compliance_derivatives(depth, length)

    def factor(angle: float, membrane: float) -> float:
        k = surface.stress_intensity(
            2.0,
            half_length_mm=5.0,
            thickness_mm=12.0,
            half_width_mm=60.0,
            angle_deg=np.rad2deg(angle),
            membrane_mpa=membrane,
            bending_mpa=1.0 - membrane,
        )
        return float(k)

    for row, (one, other) in enumerate(((1.0, 1.0), (1.0, 0.0), (0.0, 0.0))):

        def swept(angle: float, share: float, one: float = one, other: float = other) -> float:
            return 2.0 * 2.0 * 5.0 * share * factor(angle, one) * factor(angle, other)

        deeper = quad(lambda angle: swept(angle, np.sin(angle) ** 2), 0.0, np.pi / 2)[0]
        longer = quad(lambda angle: swept(angle, np.cos(angle) ** 2), 0.0, np.pi / 2)[0]
        assert float(per_depth[row, 0]) == pytest.approx(deeper, rel=5e-5)
        assert float(per_length[row, 0]) == pytest.approx(longer, rel=5e-5)
