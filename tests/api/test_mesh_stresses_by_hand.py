"""Stresses at the nodes of a mesh, by the functions that read them: small arrays written out by hand."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from fatcore.errors import InputError
from service.mesh.layout import MeshLayout
from service.mesh.raw import RawMesh
from service.mesh.stresses import stresses_of
from service.mesh.tensors import array_of, finite_rows, tensors_of

SIX = ("xx", "yy", "zz", "xy", "yz", "zx")
NINE = np.array([[1.0, 2.0, 3.0, 2.0, 4.0, 5.0, 3.0, 5.0, 6.0]])  # rows xx xy zx, xy yy yz, zx yz zz


# arrays of a file


def test_nine_numbers_of_a_node_are_the_rows_of_its_tensor() -> None:
    assert tensors_of(NINE, None).tolist() == [[1.0, 4.0, 6.0, 2.0, 5.0, 3.0]]


@pytest.mark.parametrize("place", [3, 7, 6])
@pytest.mark.parametrize("scale", [1.0, 1e-3])
def test_nine_numbers_are_symmetric_within_a_thousandth_of_the_largest(place: int, scale: float) -> None:
    """0.006 of 6; three quarters of it are rounding, 1.004 of it are none, at any scale."""
    for off, allowed in ((0.0045, True), (0.006024, False)):
        array = NINE.copy()
        array[0, place] += off
        if allowed:
            assert tensors_of(scale * array, None).shape == (1, 6)
            continue
        with pytest.raises(InputError, match="the nine numbers of a node are no symmetric tensor"):
            tensors_of(scale * array, None)


def test_a_thousandth_off_is_still_symmetric() -> None:
    array = np.zeros((1, 9))
    array[0, 0], array[0, 1] = 1000.0, 1.0
    assert tensors_of(array, None).tolist() == [[1000.0, 0.0, 0.0, 1.0, 0.0, 0.0]]
    with pytest.raises(InputError, match="no symmetric tensor"):
        tensors_of(np.where(array == 1.0, 1.004, array), None)


def test_symmetry_is_measured_by_the_largest_number_of_all_nodes() -> None:
    small, large = np.zeros(9), np.zeros(9)
    small[1], large[8] = 0.5, -600.0
    assert tensors_of(np.array([small, large]), None)[:, 3].tolist() == [0.5, 0.0]
    with pytest.raises(InputError, match="no symmetric tensor"):
        tensors_of(np.array([small]), None)


def test_arrays_without_a_node_or_without_stress_are_tensors() -> None:
    assert tensors_of(np.zeros((0, 9)), None).shape == (0, 6)
    assert tensors_of(np.zeros((2, 9)), None).tolist() == [[0.0] * 6] * 2


@pytest.mark.parametrize(("array", "width"), [(np.zeros(6), 1), (np.zeros((2, 1)), 1), (np.zeros((9, 7)), 7)])
def test_other_arrays_are_refused_with_the_numbers_that_they_have(array: np.ndarray, width: int) -> None:
    with pytest.raises(InputError, match=f"^the array has {width} numbers a node where a tensor has six, or nine"):
        tensors_of(array, SIX)


def test_six_numbers_are_sorted_by_the_stated_order() -> None:
    assert tensors_of(np.array([[1.0, 2.0, 3.0, 4.0, 5.0, 6.0]]), ("zx", "yz", "xy", "zz", "yy", "xx")).tolist() == [
        [6.0, 5.0, 4.0, 3.0, 2.0, 1.0]
    ]


@pytest.mark.parametrize("bad", [np.nan, np.inf])
def test_a_single_component_that_is_no_number_is_refused_with_its_place(bad: float) -> None:
    array = np.zeros((4, 6))
    array[2, 4] = bad
    with pytest.raises(InputError, match=r"^the node at place 2 of the file, from 0, has a stress that is no number"):
        finite_rows(array)
    assert finite_rows(np.ones((1, 6), dtype=np.int8)).dtype == np.float64


@pytest.mark.parametrize(("data", "held"), [({}, "none"), ({"T": np.zeros(1), "S": np.zeros(1)}, "S, T")])
def test_an_array_that_the_file_lacks_is_named_beside_those_that_it_has(data: dict[str, Any], held: str) -> None:
    with pytest.raises(InputError, match=f"no array 'X' at its nodes; it has {held}$"):
        array_of(data, "X", 1.0)


def test_the_unit_in_the_name_of_an_array_must_fit_the_factor() -> None:
    data = {"stress [Pa]": np.zeros(3)}
    assert array_of(data, "stress [Pa]", 1e-6) is data["stress [Pa]"]
    with pytest.raises(InputError, match="states the unit pa"):
        array_of(data, "stress [Pa]", 1.0)


# load cases of a file


def raw(**changes: Any) -> RawMesh:
    """Four nodes at the corners of a tetrahedron, 10 mm the longest extent."""
    points = np.array([[0.0, 0.0, 0.0], [10.0, 0.0, 0.0], [0.0, 4.0, 0.0], [0.0, 0.0, 2.0]])
    data: dict[str, Any] = {"points": points, "cells": (), "node_id": np.arange(4), "numbered": "from 0"}
    return RawMesh(**data | changes)


def layout(case: Any, **changes: Any) -> MeshLayout:
    data = {"length_factor": 1.0, "stress_factor": 10.0, "components": list(SIX), "cases": {"pull": case}}
    return MeshLayout.model_validate(data | changes)


def test_six_arrays_are_columns_in_the_order_of_the_tensor_times_the_factor() -> None:
    arrays = {name: np.array([at, 10.0 * at]) for at, name in enumerate(SIX, start=1)}
    cases = stresses_of(raw(point_data=arrays), layout({name: name for name in SIX}))
    assert {case: tensors.tolist() for case, tensors in cases.items()} == {
        "pull": [[10.0, 20.0, 30.0, 40.0, 50.0, 60.0], [100.0, 200.0, 300.0, 400.0, 500.0, 600.0]]
    }


def test_one_of_six_arrays_with_several_numbers_is_refused() -> None:
    arrays: dict[str, Any] = {name: np.zeros(2) for name in SIX} | {"yz": np.zeros((2, 3))}
    with pytest.raises(InputError, match="a component must be an array of one number a node") as refused:
        stresses_of(raw(point_data=arrays), layout({name: name for name in SIX}))
    assert refused.value.path == ("mesh", "cases", "pull")


@pytest.mark.parametrize("case", [dict.fromkeys(SIX, "s [Pa]"), {"array": "s [Pa]", "step": 0}, "s [Pa]"])
def test_units_are_guarded_in_every_form_of_a_load_case(case: Any) -> None:
    data = {"s [Pa]": np.zeros((2, 6)) if not isinstance(case, dict) or "step" in case else np.zeros(2)}
    held = raw(point_data=data, steps=((0.0, data),))
    assert stresses_of(held, layout(case, stress_factor=1e-6))["pull"].shape == (2, 6)
    with pytest.raises(InputError, match="states the unit pa"):
        stresses_of(held, layout(case))


def steps(*times: float) -> RawMesh:
    """The step of time t has the stress t in every component."""
    return raw(steps=tuple((time, {"S": np.full((1, 6), time)}) for time in times))


def step_of(held: RawMesh, **case: Any) -> float:
    return float(stresses_of(held, layout({"array": "S", **case}, stress_factor=1.0))["pull"][0, 0])


def test_a_step_is_found_by_its_number_from_zero() -> None:
    held = steps(3.0, 5.0, 7.0)
    assert [step_of(held, step=number) for number in range(3)] == [3.0, 5.0, 7.0]
    with pytest.raises(InputError, match=r"^the file has steps 0 to 2") as refused:
        step_of(held, step=3)
    assert refused.value.path == ("mesh", "cases", "pull", "step")


def test_a_step_is_found_by_its_time_within_a_billionth() -> None:
    held = steps(0.0, 2.0)
    assert step_of(held, time=0.0) == 0.0
    assert step_of(held, time=2.0 * (1.0 + 0.99e-9)) == 2.0
    for time in (2.0 * (1.0 + 1.006e-9), 0.01):
        with pytest.raises(InputError, match=r"^0 steps have this time; the file has 0.0, 2.0$") as refused:
            step_of(held, time=time)
        assert refused.value.path == ("mesh", "cases", "pull", "time")
    with pytest.raises(InputError, match=r"^2 steps have this time"):
        step_of(steps(1.0, 1.0), time=1.0)


def test_a_wrong_time_shows_no_more_than_twelve_times_of_the_file() -> None:
    with pytest.raises(InputError, match=r"the file has 0.0, .*, 11.0$"):
        step_of(steps(*map(float, range(20))), time=50.0)


def test_a_file_without_steps_says_so_at_the_step() -> None:
    with pytest.raises(InputError, match="no time steps") as refused:
        step_of(raw(), step=0)
    assert refused.value.path == ("mesh", "cases", "pull", "step")
