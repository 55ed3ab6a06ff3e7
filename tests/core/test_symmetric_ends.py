"""Ends of a weld line on a plane of symmetry: half a line gives what the whole line gives."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from fatcore.check.line import WeldLine, select_judged_stations
from fatcore.errors import InputError
from fatcore.stress.peak.line_evaluation import peaks_from_tensors
from fatcore.stress.weld_lines.solid.symmetry import planes_of
from fatcore.stress.weld_lines.symmetric_ends import LineEnd, images_beyond
from service.mesh.files import read_mesh_file
from service.mesh.layout import mesh_map_of
from service.mesh.mapping import map_mesh
from tests.shapes.files import FOLDER

TANGENT, BISECTOR = [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]
MIRROR = np.diag([1.0, -1.0, 1.0])


def tensors(matrices: np.ndarray) -> np.ndarray:
    xx, yy, zz = (matrices[:, k, k] for k in range(3))
    return np.column_stack([xx, yy, zz, matrices[:, 0, 1], matrices[:, 1, 2], matrices[:, 2, 0]])


def whole_line(sign: float, count: int, seed: int) -> np.ndarray:
    """Tensors at y = -count .. count of a field that is symmetric (1) or antisymmetric (-1) to y = 0."""
    rng = np.random.default_rng(seed)
    half = rng.normal(size=(count + 1, 3, 3)) * 100.0
    half += half.transpose(0, 2, 1)
    half[0] = (half[0] + sign * MIRROR @ half[0] @ MIRROR) / 2.0
    mirrored = sign * MIRROR @ half[:0:-1] @ MIRROR
    return np.concatenate([mirrored, half])


def peaks(matrices: np.ndarray, *symmetric_ends: LineEnd) -> tuple[np.ndarray, list[str]]:
    count = len(matrices)
    found, findings = peaks_from_tensors(
        tensors(matrices), [TANGENT] * count, [BISECTOR] * count, average_over=3, symmetric_ends=symmetric_ends
    )
    return found, [finding.code for finding in findings]


@pytest.mark.parametrize("sign", [1.0, -1.0])
@pytest.mark.parametrize("seed", range(5))
def test_half_a_line_has_the_means_of_the_whole_line(sign: float, seed: int) -> None:
    whole = whole_line(sign, 6, seed)
    expected, _ = peaks(whole)
    start, codes = peaks(whole[6:], "start")
    assert start == pytest.approx(expected[6:])
    assert "plane-not-symmetric" not in codes
    end, _ = peaks(whole[:7], "end")
    assert end == pytest.approx(expected[:7])
    assert peaks(whole[6:])[0][0] != pytest.approx(expected[6])


def test_a_plane_on_which_neither_part_vanishes_is_told() -> None:
    skew = np.ones((13, 3, 3)) * 50.0  # opening, sliding and tearing alike
    assert "plane-not-symmetric" in peaks(skew[6:], "start")[1]
    assert "plane-not-symmetric" in peaks(skew[:7], "end")[1]
    assert "plane-not-symmetric" not in peaks(skew[6:])[1]


@pytest.mark.parametrize(("share", "told"), [(0.29, False), (0.31, True)])
def test_the_part_that_vanishes_may_be_three_tenths_of_the_other(share: float, told: bool) -> None:
    rows = np.array([[10.0, 0.0, 10.0 * share], [8.0, 2.0, 1.0]])
    assert bool(images_beyond(rows, ["start"])[1]) is told
    assert images_beyond(rows[:, ::-1], ["start"])[0][0] is not None


@pytest.mark.parametrize(("largest", "told"), [(39.0, True), (81.0, False)])
def test_small_peaks_on_the_plane_tell_nothing(largest: float, told: bool) -> None:
    rows = np.array([[4.0, 0.0, 4.0], [largest, 0.0, 0.0]])
    assert bool(images_beyond(rows, ["start"])[1]) is told


def test_an_image_keeps_opening_and_sliding_or_tearing_alone() -> None:
    beside = [5.0, 6.0, 7.0]
    (start, end), _ = images_beyond(np.array([[9.0, 1.0, 0.0], beside]), ["start"])
    assert end is None
    assert start == pytest.approx([5.0, 6.0, -7.0])
    (_, end), _ = images_beyond(np.array([beside, [0.0, 0.0, 9.0]]), ["end"])
    assert end == pytest.approx([-5.0, -6.0, 7.0])


def line(**changes: Any) -> WeldLine:
    cases = {"a": np.ones((5, 3))}
    return WeldLine(
        **{"name": "a", "position_mm": np.arange(5.0) * 2.0, "cases": cases, "exclude_ends_mm": 3.0, **changes}
    )


def test_an_end_on_the_plane_is_no_end_that_is_left_out() -> None:
    assert select_judged_stations(line()).tolist() == [False, False, True, False, False]
    assert select_judged_stations(line(symmetric_ends=("start",))).tolist() == [True, True, True, False, False]
    assert select_judged_stations(line(symmetric_ends=("start", "end"))).all()


@pytest.mark.parametrize(
    "changes", [{"closed": True}, {"symmetric_ends": ("start", "start")}, {"symmetric_ends": ("x",)}]
)
def test_ends_of_a_loop_named_twice_or_unknown_are_refused(changes: dict[str, Any]) -> None:
    with pytest.raises(InputError):
        line(**{"symmetric_ends": ("start",), **changes})


@pytest.mark.parametrize("text", ["w=0", "y", "y=", "=0", "y=1e3", "y=0x"])
def test_a_plane_is_an_axis_and_a_coordinate(text: str) -> None:
    with pytest.raises(InputError) as refused:
        planes_of(["x = -2.5", text])
    assert refused.value.path == ("symmetry", 1)


def test_single_stations_have_no_image() -> None:
    found, _ = peaks_from_tensors([[1.0] * 6], [TANGENT], [BISECTOR], symmetric_ends=["start"])
    assert found.shape == (1, 3)


def test_data_of_half_a_model_says_that_its_plane_is_one() -> None:
    """Stresses of a real half model at the ends of its plate toe: tearing vanishes on the plane in both load cases."""
    data = {
        "mesh": {
            "length_factor": 1.0,
            "stress_factor": 1.0,
            "components": ["xx", "yy", "zz", "xy", "yz", "zx"],
            "cases": {"tension": "S_tension", "bending": "S_bending"},
            "symmetry": ["y=0"],
        },
        "lines": [{"match": "*", "notch_size_mm": 10.0, "average_over": 3}],
        "request": {
            "loading": {"kind": "constant", "cycles": 1e5, "factors": {"tension": {"maximum": 1.0, "minimum": 0.0}}},
            "target": {"survival_probability": 0.977, "damage_limit": 0.5},
        },
    }
    made = map_mesh(read_mesh_file(str(FOLDER / "stiffener-tet10-half.vtu")), mesh_map_of(data))
    toe = next(each for each in made.request["lines"] if each["name"] == "toe-1")
    assert toe["symmetric_ends"] == ["start", "end"]
    for case in ("tension", "bending"):
        rows = np.column_stack([toe["cases"][case]["tensors_mpa"][k] for k in ("xx", "yy", "zz", "xy", "yz", "zx")])
        _, found = peaks_from_tensors(rows, toe["tangent"], toe["bisector"], symmetric_ends=["start", "end"])
        assert "plane-not-symmetric" not in [finding.code for finding in found]
