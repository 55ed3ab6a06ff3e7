"""Algebra of stress tensors against matrix algebra and invariants."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy.spatial.transform import Rotation

from fatcore.errors import InputError
from fatcore.stress import tensor

TENSORS = arrays(np.float64, (5, 6), elements=st.floats(-300.0, 300.0))


def axes(seed: int, count: int | None = None) -> np.ndarray:
    return Rotation.random(count, rng=np.random.default_rng(seed)).as_matrix()


@given(TENSORS)
def test_matrices_and_components_are_inverse(stress: np.ndarray) -> None:
    full = tensor.matrices(stress)
    assert (full == np.swapaxes(full, -1, -2)).all()
    assert (tensor.components(full) == stress).all()


@given(TENSORS, st.integers(0, 9999))
def test_rotation_keeps_the_invariants_and_turns_back(stress: np.ndarray, seed: int) -> None:
    turn = axes(seed, 5)
    there = tensor.rotate(stress, turn)
    assert tensor.rotate(there, np.swapaxes(turn, -1, -2)) == pytest.approx(stress, abs=1e-9)
    assert tensor.von_mises(there) == pytest.approx(tensor.von_mises(stress), abs=1e-8)
    assert tensor.principal(there).values_mpa == pytest.approx(tensor.principal(stress).values_mpa, abs=1e-8)


@given(TENSORS)
def test_principal_values_and_directions_make_the_tensor(stress: np.ndarray) -> None:
    values, directions = tensor.principal(stress)
    assert (np.diff(values, axis=-1) <= 0.0).all()
    diagonal = np.zeros((5, 6))
    diagonal[:, :3] = values
    assert tensor.rotate(stress, directions) == pytest.approx(diagonal, abs=1e-8)


@given(TENSORS)
def test_von_mises_from_principal_values(stress: np.ndarray) -> None:
    a, b, c = tensor.principal(stress).values_mpa.T
    expected = np.sqrt(((a - b) ** 2 + (b - c) ** 2 + (c - a) ** 2) / 2.0)
    assert tensor.von_mises(stress) == pytest.approx(expected, abs=1e-6)


def test_von_mises_of_plain_states() -> None:
    states = [[250.0, 0, 0, 0, 0, 0], [0, 0, 0, 100.0, 0, 0], [70.0, 70.0, 70.0, 0, 0, 0]]
    assert tensor.von_mises(states) == pytest.approx([250.0, 100.0 * np.sqrt(3.0), 0.0])


@given(TENSORS, st.integers(0, 9999))
def test_plane_stresses_are_components_in_a_frame_on_the_plane(stress: np.ndarray, seed: int) -> None:
    turn = axes(seed)
    turned = tensor.rotate(stress, turn)
    found = tensor.on_plane(stress, 5.0 * turn[0])
    assert found.normal_mpa == pytest.approx(turned[:, 0], abs=1e-8)
    assert found.shear_mpa == pytest.approx(np.hypot(turned[:, 3], turned[:, 5]), abs=1e-8)
    assert np.linalg.norm(found.traction_mpa, axis=1) == pytest.approx(
        np.hypot(found.normal_mpa, found.shear_mpa), abs=1e-8
    )


def test_principal_planes_carry_no_shear() -> None:
    stress = np.random.default_rng(1).normal(size=(4000, 6)) * 100.0
    values, directions = tensor.principal(stress)
    found = tensor.on_plane(stress, directions[:, 0])
    assert found.shear_mpa == pytest.approx(np.zeros(4000), abs=1e-9)
    assert found.normal_mpa == pytest.approx(values[:, 0])


def test_pure_shear_at_45_degrees() -> None:
    found = tensor.on_plane([0.0, 0.0, 0.0, 80.0, 0.0, 0.0], [1.0, 1.0, 0.0])
    assert (float(found.normal_mpa), float(found.shear_mpa)) == pytest.approx((80.0, 0.0))


@pytest.mark.parametrize(
    ("call", "name"),
    [
        (lambda: tensor.matrices([1.0] * 5), "tensors_mpa"),
        (lambda: tensor.matrices(1.0), "tensors_mpa"),
        (lambda: tensor.von_mises([np.nan] * 6), "tensors_mpa"),
        (lambda: tensor.components(np.eye(2)), "matrices_mpa"),
        (lambda: tensor.rotate([1.0] * 6, 1.001 * np.eye(3)), "axes"),
        (lambda: tensor.rotate([1.0] * 6, np.eye(2)), "axes"),
        (lambda: tensor.on_plane([1.0] * 6, [0.0, 0.0, 0.0]), "normal"),
        (lambda: tensor.on_plane([1.0] * 6, [1.0, 0.0]), "normal"),
    ],
)
def test_refused(call: object, name: str) -> None:
    with pytest.raises(InputError) as caught:
        call()  # type: ignore[operator]
    assert caught.value.path == (name,)
