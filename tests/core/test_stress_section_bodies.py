"""Extraction of intensities against exact fields and handbook cracks."""

from __future__ import annotations

import numpy as np
import pytest

from fatcore.cracks.intensity.plate.centre import tada
from fatcore.stress.modes import MODES, Mode
from fatcore.stress.notch import fields as notch
from fatcore.stress.notch.energy_coefficients import energy_coefficients
from fatcore.stress.section._elements import edge_loads
from fatcore.stress.section._extraction import intensity, mutual_energy
from fatcore.stress.section._fields import dual, primary, reciprocity
from fatcore.stress.section._solution import _EDGES
from tests.section_bodies import NU, Body, cracked_plate, field_moves, polar, solved, wedge

ANGLES = [0.0, 60.0, 90.0, 122.0, 135.0, 150.0]


@pytest.mark.parametrize("angle", ANGLES)
@pytest.mark.parametrize("mode", MODES)
def test_primary_field_is_the_notch_field_of_unit_intensity(angle: float, mode: Mode) -> None:
    half = float(notch.half_sector(angle))
    theta = half * np.linspace(-1.0, 1.0, 9)
    field = primary(mode, angle, NU).at(np.full(9, 0.7), theta)
    known = getattr(notch, f"field_{mode}")(1.0, 0.7, np.degrees(theta), angle)
    if mode == "tearing":
        found = (field.hoop_face[:, 0], field.radial_face[:, 0])
    else:
        found = (field.hoop_face[:, 1], field.radial_face[:, 0], field.radial_face[:, 1])
    np.testing.assert_allclose(found, known, rtol=1e-7, atol=1e-8)


@pytest.mark.parametrize("angle", ANGLES)
@pytest.mark.parametrize("mode", MODES)
@pytest.mark.parametrize("kind", [primary, dual])
def test_stresses_follow_from_the_displacements(angle: float, mode: Mode, kind: object) -> None:
    field, r, theta, step = kind(mode, angle, NU), 0.8, 0.6, 1e-5  # type: ignore[operator]
    places = np.array([[r, theta], [r + step, theta], [r - step, theta], [r, theta + step], [r, theta - step]])
    values = field.at(*places.T)
    moved = values.displacement
    by_r, by_theta = (moved[1] - moved[2]) / (2 * step), (moved[3] - moved[4]) / (2 * step)
    shear = 0.5 / (1 + NU)
    if mode == "tearing":
        assert values.radial_face[0, 0] == pytest.approx(shear * by_r[0], rel=1e-6)
        assert values.hoop_face[0, 0] == pytest.approx(shear * by_theta[0] / r, rel=1e-6)
        return
    radial, hoop = by_r[0], (by_theta[1] + moved[0, 0]) / r
    slip = by_r[1] + (by_theta[0] - moved[0, 1]) / r
    scale = 1.0 / ((1 + NU) * (1 - 2 * NU))
    expected = [
        scale * ((1 - NU) * radial + NU * hoop),
        scale * ((1 - NU) * hoop + NU * radial),
        shear * slip,
    ]
    found = [values.radial_face[0, 0], values.hoop_face[0, 1], values.radial_face[0, 1]]
    np.testing.assert_allclose(found, expected, rtol=1e-6, atol=1e-7)


@pytest.mark.parametrize("angle", ANGLES)
def test_dual_fields_see_their_own_mode_only(angle: float) -> None:
    for mode in MODES:
        assert reciprocity(primary(mode, angle, NU), dual(mode, angle, NU)) == pytest.approx(1.0, rel=1e-9)
    opening, sliding = primary("opening", angle, NU), primary("sliding", angle, NU)
    assert abs(reciprocity(opening, dual("sliding", angle, NU))) < 1e-9
    assert abs(reciprocity(sliding, dual("opening", angle, NU))) < 1e-9


def rim_solution(body: Body, parts: dict[Mode, float]) -> np.ndarray:
    """Solution with the displacements of singular fields prescribed on the rim."""
    tearing = "tearing" in parts
    radius, _ = polar(body)
    tip = body.patch.tip
    rim = _on_rim(body)
    width = 1 if tearing else 2
    values = np.zeros((len(radius), width))
    for mode, amount in parts.items():
        field = primary(mode, tip.opening_angle_deg, NU)
        values[rim] += amount * field_moves(body, field, rim)
    held = np.repeat(rim, width)
    return solved(body.mesh, tearing, np.zeros(len(held)), held, values.ravel())


def _on_rim(body: Body) -> np.ndarray:
    """Nodes of the outermost edges: corners on the rim and the middles between them."""
    radius, _ = polar(body)
    corner = radius > body.patch.tip.radius * (1.0 - 1e-9)
    edges = body.mesh.triangles[:, _EDGES].reshape(-1, 3)
    both = corner[edges[:, 0]] & corner[edges[:, 2]]
    rim = np.zeros(len(radius), dtype=bool)
    rim[edges[both].ravel()] = True
    return rim


@pytest.mark.parametrize("angle", [0.0, 60.0, 135.0])
def test_intensities_of_prescribed_fields_come_back(angle: float) -> None:
    body = wedge(angle, 0.33)
    moved = rim_solution(body, {"opening": 100.0, "sliding": -40.0})
    assert intensity(body.mesh, body.patch, moved, "opening", NU) == pytest.approx(100.0, rel=2e-3)
    assert intensity(body.mesh, body.patch, moved, "sliding", NU) == pytest.approx(-40.0, rel=2e-3)
    moved = rim_solution(body, {"tearing": 70.0})
    assert intensity(body.mesh, body.patch, moved, "tearing", NU) == pytest.approx(70.0, rel=2e-3)


def test_intensities_converge_with_the_fourth_power_of_the_mesh() -> None:
    """Six-node triangles: energies, and work integrals like them, have twice the order of the strains."""
    errors = []
    for step in (0.6, 0.3):
        body = wedge(135.0, step)
        moved = rim_solution(body, {"opening": 1.0})
        errors.append(abs(intensity(body.mesh, body.patch, moved, "opening", NU) - 1.0))
    assert np.log2(errors[0] / errors[1]) > 3.0


@pytest.mark.parametrize(("angle", "mode"), [(0.0, "opening"), (0.0, "sliding"), (135.0, "opening")])
def test_sector_energy_is_that_of_the_energy_coefficient(angle: float, mode: Mode) -> None:
    body = wedge(angle, 0.25)
    moved = rim_solution(body, {mode: 100.0})
    found = mutual_energy(body.mesh, body.patch, [moved], NU)[0, 0]
    coefficient = getattr(energy_coefficients(angle, NU), mode)
    exponent = getattr(notch.eigenvalues(angle), mode)
    ring = np.sqrt(body.patch.sector_area / body.patch.tip.half_angle)
    assert found == pytest.approx(coefficient * 100.0**2 / ring ** (2 * (1 - exponent)), rel=5e-3)


def end_loads(body: Body, height: float, traction: list[float]) -> np.ndarray:
    """Forces of equal and opposite tractions on the edges y = height and y = -height."""
    nodes = body.mesh.nodes
    result = np.zeros((len(nodes), len(traction)))
    edges = body.mesh.triangles[:, _EDGES].reshape(-1, 3)
    for sign in (1.0, -1.0):
        ends = edges[(np.abs(nodes[edges][:, :, 1] - sign * height) < 1e-9 * height).all(axis=1)]
        loads = np.broadcast_to(sign * np.array(traction), (len(ends), 3, len(traction)))
        np.add.at(result, ends, edge_loads(nodes, ends, loads))
    return result.ravel()


@pytest.mark.uncounted
@pytest.mark.parametrize("alpha", [0.2, 0.4, 0.6])
def test_centre_crack_in_tension(alpha: float) -> None:
    """Handbook of Tada, Paris and Irwin (2000), from memory: factor of the centre crack within 0.1 %."""
    a, half_width, height = 10.0 * alpha, 10.0, 25.0
    body = cracked_plate(a, half_width, height, 0.1)
    x, y = body.mesh.nodes.T
    held = np.zeros((len(x), 2), dtype=bool)
    held[np.abs(x) < 1e-9, 0] = True
    held[np.argmin(np.hypot(x - half_width, y)), 1] = True
    moved = solved(body.mesh, False, end_loads(body, height, [0.0, 1.0]), held.ravel())
    expected = np.sqrt(np.pi * a) * float(tada(alpha))
    assert intensity(body.mesh, body.patch, moved, "opening", NU) == pytest.approx(expected, rel=3e-3)
    assert abs(intensity(body.mesh, body.patch, moved, "sliding", NU)) < 1e-3 * expected


@pytest.mark.parametrize("alpha", [0.3, 0.6])
def test_centre_crack_in_a_strip_under_tearing(alpha: float) -> None:
    """Closed form for a strip of free sides: sqrt(W tan(pi a / W)), exact by periodic potential."""
    a, half_width, height = 10.0 * alpha, 10.0, 25.0
    body = cracked_plate(a, half_width, height, 0.1)
    x, y = body.mesh.nodes.T
    held = np.zeros(len(x), dtype=bool)
    held[np.argmin(np.hypot(x - half_width, y))] = True
    moved = solved(body.mesh, True, end_loads(body, height, [1.0]), held)
    expected = np.sqrt(2 * half_width * np.tan(np.pi * a / (2 * half_width)))
    assert intensity(body.mesh, body.patch, moved, "tearing", NU) == pytest.approx(expected, rel=2e-3)
