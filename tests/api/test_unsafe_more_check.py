"""Checks and peak stresses of inputs that agree with each other and are wrong all the same."""

from __future__ import annotations

from typing import Any

import httpx
import numpy as np
import pytest

from fatcore.figures import figure
from service.base.extremes import overflow_problem
from service.base.problems import Problem
from service.lines.map import read_map
from service.lines.table import map_table

TOE = {"kind": "toe", "opening_angle_deg": 135.0, "notch_size_mm": 10.0}
MESH = {"element": "tet10", "element_size_mm": 1.0}
EQUAL = [60.0, 60.0, 60.0]


def line(**changes: Any) -> dict[str, Any]:
    """A toe of three stations 1 mm apart."""
    peaks = {"opening": EQUAL}
    plain = {"name": "w", "notch": TOE, "mesh": MESH, "position_mm": [0.0, 1.0, 2.0]}
    return {**plain, "cases": {"F": {"peaks_mpa": peaks}}, **changes}


def body(*lines: dict[str, Any], maximum: float = 1.0, cycles: float = 1e5, **more: Any) -> dict[str, Any]:
    factors = {name: {"maximum": maximum, "minimum": 0.0} for name in lines[0]["cases"]}
    return {
        "lines": list(lines),
        "loading": {"kind": "constant", "cycles": cycles, "factors": factors},
        **more,
    }


def content(client: httpx.Client, request: dict[str, Any], route: str = "check") -> dict[str, Any]:
    reply = client.post(f"/v1/{route}", json=request)
    assert reply.status_code == 200, reply.text
    return reply.json()  # type: ignore[no-any-return]


def peak_request(**changes: Any) -> dict[str, Any]:
    plain = {"notch": TOE, "mesh": MESH, "position_mm": [0.0, 1.0, 2.0], "peaks_mpa": {"opening": EQUAL}}
    return {**plain, **changes}


def severities(found: dict[str, Any], code: str) -> list[str]:
    return [f["severity"] for f in found["findings"] if f["code"] == code]


def message(found: dict[str, Any], code: str) -> str:
    return str(next(f["message"] for f in found["findings"] if f["code"] == code))


SCALE, DOUBTFUL_SCALE = "lengths-not-millimetres", "lengths-perhaps-not-millimetres"


def scaled(share: float, *, notch: bool) -> dict[str, Any]:
    """Mesh, positions and, where told, the notch in another unit."""
    size = 10.0 * share if notch else 10.0
    return {
        "notch": {**TOE, "notch_size_mm": size},
        "mesh": {**MESH, "element_size_mm": share},
        "position_mm": [0.0, share, 2 * share],
    }


@pytest.mark.parametrize("notch", [True, False])
@pytest.mark.parametrize("share", [1e-3, 1.0 / 25.4])
def test_lengths_in_metres_or_inches_that_agree_pass_nothing(client: httpx.Client, share: float, notch: bool) -> None:
    """60 MPa at a factor of 10: over the limit in millimetres, 0.14 in metres."""
    truth = content(client, body(line(), maximum=10.0))
    assert (truth["answer"]["verdict"], severities(truth, SCALE)) == ("fail", [])
    wrong = content(client, body(line(**scaled(share, notch=notch)), maximum=10.0))
    assert (wrong["answer"]["verdict"], severities(wrong, SCALE)) == ("undecided", ["outside"])
    peak = content(client, peak_request(**scaled(share, notch=notch)), "stress/peak")
    assert severities(peak, SCALE) == ["outside"]


@pytest.mark.parametrize(
    ("size", "mesh", "step", "severity"),
    [
        (10.0, 0.3, 0.3, []),
        (10.0, 0.27, 0.27, ["caution"]),  # finer than the control radius
        (16.0, 0.3, 0.3, ["caution"]),  # 53 elements
        (80.0, 0.3, 0.3, ["outside"]),
        (0.7, 0.3, 0.3, ["caution"]),  # 18 mm of plate, 8 mm of mesh in inches
        (8.0, 0.3, 8.0, []),
    ],
)
def test_lengths_are_judged_by_their_size(
    client: httpx.Client, size: float, mesh: float, step: float, severity: list[str]
) -> None:
    given = line(
        notch={**TOE, "notch_size_mm": size},
        mesh={**MESH, "element_size_mm": mesh},
        position_mm=[place * step for place in range(5)],
        cases={"F": {"peaks_mpa": {"opening": [60.0] * 5}}},
    )
    found = content(client, body(given))
    assert severities(found, SCALE) + severities(found, DOUBTFUL_SCALE) == severity


def test_a_mesh_size_that_nothing_shows_is_doubtful_under_a_verdict(client: httpx.Client) -> None:
    one = line(position_mm=[0.0], cases={"F": {"peaks_mpa": {"opening": [60.0]}}})
    assert severities(content(client, body(one)), "mesh-size-on-faith-in-check") == ["caution"]
    alone = {"notch": TOE, "mesh": MESH, "peaks_mpa": {"opening": [60.0]}}
    assert severities(content(client, alone, "stress/peak"), "mesh-size-on-faith") == ["note"]


# a mode that is left out


def test_a_large_stress_that_is_not_counted_leaves_a_pass_undecided(client: httpx.Client) -> None:
    for sliding, verdict, severity in (
        (20.0, "pass", "note"),
        (40.0, "pass", "caution"),
        (600.0, "undecided", "outside"),
    ):
        code = "sliding-not-counted" + {"note": "", "caution": "-large", "outside": "-largest"}[severity]
        peaks = {"opening": [40.0] * 3, "sliding": [0.0, -sliding, 0.0]}
        found = content(client, body(line(cases={"F": {"peaks_mpa": peaks}}, notch=TOE), maximum=0.7))
        expected = verdict if sliding != 40.0 else "pass"
        assert (found["answer"]["verdict"], severities(found, code)) == (
            expected,
            [severity],
        )
        assert f"{figure(0.7 * sliding)} MPa" in message(found, code)
        assert "28 MPa" in message(found, code)
        peak = content(client, peak_request(peaks_mpa=peaks), "stress/peak")
        assert severities(peak, code) == [severity]


def test_a_stress_that_is_not_counted_does_not_doubt_a_failure(client: httpx.Client) -> None:
    peaks = {"opening": [600.0] * 3, "sliding": [900.0] * 3}
    found = content(client, body(line(cases={"F": {"peaks_mpa": peaks}})))
    seen = severities(found, "sliding-not-counted-largest")
    assert (found["answer"]["verdict"], seen) == ("fail", ["outside"])


def test_what_rounding_leaves_of_opening_is_no_biaxiality(client: httpx.Client) -> None:
    peaks = {"opening": [1e-14] * 3, "tearing": EQUAL}
    found = content(client, body(line(cases={"F": {"peaks_mpa": peaks}})))
    assert found["answer"]["biaxiality_ratio"] is None
    peak = content(client, peak_request(peaks_mpa=peaks), "stress/peak")
    assert peak["answer"]["biaxiality_ratio"] == [None] * 3


# constants and material of one's own


def with_constant(value: float, element: str = "tet10", **others: float) -> dict[str, Any]:
    return {"element": element, "element_size_mm": 1.0, "constants": {"opening": value, **others}}


@pytest.mark.parametrize(
    ("value", "verdict", "severity"),
    [
        (0.8, "undecided", "outside"),
        (1.088, "undecided", "outside"),
        (1.1, "fail", "caution"),
        (1.5, "fail", "caution"),
    ],
)
def test_an_own_constant_is_held_against_the_published_one(
    client: httpx.Client, value: float, verdict: str, severity: str
) -> None:
    """The published 1.21 +-10 % fails."""
    code = "own-constant-below-scatter" if severity == "outside" else "own-constant"
    mesh = with_constant(value)
    found = content(client, body(line(mesh=mesh), maximum=10.0 if value > 1.0 else 9.0))
    assert severities(found, code) == [severity]
    assert all(figure in message(found, code) for figure in (f"{value:g}", "1.21"))
    assert found["answer"]["verdict"] == verdict
    peak = content(client, peak_request(mesh=mesh), "stress/peak")
    assert severities(peak, code) == [severity]


def test_the_published_constant_keeps_its_doubts_when_it_is_given(client: httpx.Client) -> None:
    plain = content(client, body(line()))
    given = content(client, body(line(mesh=with_constant(1.21, tearing=1.7))))
    assert given["findings"] == plain["findings"]


def test_the_constant_of_an_own_element_is_held_against_the_smallest(client: httpx.Client) -> None:
    found = content(client, body(line(mesh=with_constant(1.1, "own", tearing=1.6))))
    assert severities(found, "own-constant") == ["caution", "caution"]


@pytest.mark.parametrize(
    ("ratio", "severity"),
    [(0.3, []), (0.33, ["caution"]), (0.25, ["caution", "outside"]), (0.4, ["caution", "outside"])],
)
def test_poissons_ratio_is_held_against_the_materials(client: httpx.Client, ratio: float, severity: list[str]) -> None:
    material = {"name": "structural-steel", "poisson_ratio": ratio}
    for found in (
        content(client, body(line(), material=material)),
        content(client, peak_request(material=material), "stress/peak"),
    ):
        seen = [*severities(found, "poisson-ratio-given"), *severities(found, "poisson-ratio-outside")]
        assert seen == severity
    if "outside" in severity:
        assert content(client, body(line(), material=material))["answer"]["verdict"] == "undecided"


def test_a_control_radius_far_above_the_materials_passes_nothing(client: httpx.Client) -> None:
    material = {"name": "structural-steel", "control_radius_mm": 2.8}
    found = content(client, body(line(), material=material))
    assert (found["answer"]["verdict"], severities(found, "control-radius-far")) == ("undecided", ["outside"])
    material["control_radius_mm"] = 0.3
    assert not severities(content(client, body(line(), material=material)), "control-radius-far")


# numbers that overflow


def refused(client: httpx.Client, route: str, request: dict[str, Any]) -> str:
    reply = client.post(f"/v1/{route}", json=request)
    assert reply.status_code == 422, reply.text[:300]
    return str(reply.json()["errors"][0]["pointer"])


def test_numbers_that_overflow_are_refused_where_they_stand(client: httpx.Client) -> None:
    peaks = {"opening": [1e30] * 3}
    huge = body(line(cases={"F": {"peaks_mpa": peaks}}), maximum=1e30, cycles=1e30)
    assert refused(client, "check", huge | {"target": {"load_factor": 1e30, "repeats": 1e30}})
    nominal = {"name": "n", "basis": "nominal", "position_mm": [0.0], "cases": {"F": {"normal_mpa": [1e30]}}}
    curve = {"rule": "fixed", "curve": "en-1993-1-9-2005-normal-80"}
    target = {"load_factor": 1e30, "repeats": 1e30}
    huge = body(nominal, maximum=1e30, cycles=1e30, curves=curve, target=target)
    assert refused(client, "check", huge)


def test_an_error_of_our_own_is_not_laid_on_the_request() -> None:
    own = ValueError("own")
    assert overflow_problem(own, {"a": 5.0, "b": [True, None, 0.0, "1e30"]}) is own
    assert isinstance(overflow_problem(own, {"a": [2.0, 1e-20]}), Problem)


# factors, modes, documents


def nominal(curves: dict[str, Any], **cases: dict[str, list[float]]) -> dict[str, Any]:
    plain = {"name": "n", "basis": "nominal", "position_mm": [0.0], "cases": cases}
    return body(plain, cycles=2e6, curves={"rule": "fixed", **curves})


EN, EN_SHEAR = "en-1993-1-9-2005-normal-80", "en-1993-1-9-2005-shear-100"


def test_the_utilisation_under_the_partial_factor_is_told(client: httpx.Client) -> None:
    """Largest factor of the document 1.35 (safe life, high consequence)."""
    found = content(client, nominal({"curve": EN}, F={"normal_mpa": [72.0]}))
    used = found["answer"]["utilisation"]
    assert found["answer"]["verdict"] == "undecided"
    assert severities(found, "partial-factor-not-applied") == ["caution"]
    assert severities(found, "partial-factor-decides") == ["outside"]
    assert f"1.35, the utilisation is {figure(1.35 * used)}" in message(found, "partial-factor-decides")
    applied = nominal({"curve": EN}, F={"normal_mpa": [72.0]}) | {"target": {"resistance_factor": 1.35}}
    with_factor = content(client, applied)
    assert with_factor["answer"]["utilisation"] == pytest.approx(1.35 * used, rel=1e-9)
    assert not severities(with_factor, "partial-factor-decides")
    assert not severities(with_factor, "utilisation-without-partial-factor")


def test_a_mode_that_is_missing_is_named_with_its_case(client: httpx.Client) -> None:
    both = {"normal_mpa": [40.0], "shear_mpa": [40.0]}
    curves = {"curve": EN, "shear_curve": EN_SHEAR}
    found = content(client, nominal(curves, F={"normal_mpa": [40.0]}))
    assert severities(found, "mode-absent") == ["caution"]
    found = content(client, nominal(curves, F=both, G={"normal_mpa": [40.0]}))
    assert severities(found, "mode-absent") == ["caution"]
    assert "shear_mpa" in message(found, "mode-absent")
    assert "load case G" in message(found, "mode-absent")
    assert not severities(content(client, nominal(curves, F=both)), "mode-absent")


def test_a_root_by_its_opening_alone_is_doubtful(client: httpx.Client) -> None:
    root = {"kind": "root", "opening_angle_deg": 0.0, "notch_size_mm": 10.0}
    found = content(client, body(line(notch=root)))
    assert severities(found, "mode-absent") == ["caution", "caution"]
    peak = content(client, peak_request(notch=root), "stress/peak")
    assert severities(peak, "mode-absent") == ["caution", "caution"]
    assert severities(content(client, body(line())), "mode-in-no-case") == ["note"]
    full = {"opening": EQUAL, "sliding": EQUAL, "tearing": EQUAL}
    assert not severities(content(client, body(line(notch=root, cases={"F": {"peaks_mpa": full}}))), "mode-absent")


def test_curves_of_two_documents_in_one_interaction_are_doubtful(client: httpx.Client) -> None:
    both = {"normal_mpa": [20.0], "shear_mpa": [20.0]}
    mixed = {"curve": EN, "shear_curve": "iiw-2016-shear-steel-100", "interaction": "damage-sum"}
    assert severities(content(client, nominal(mixed, F=both)), "documents-mixed") == ["caution"]
    alike = {"curve": EN, "shear_curve": EN_SHEAR}
    assert not severities(content(client, nominal(alike, F=both)), "documents-mixed")


def test_less_than_one_pass_is_said(client: httpx.Client) -> None:
    assert severities(content(client, body(line(), target={"repeats": 0.5})), "less-than-one-pass") == ["caution"]
    assert not severities(content(client, body(line())), "less-than-one-pass")


# means, names, words


def tensor_line(opening: list[float], **changes: Any) -> dict[str, Any]:
    """A line along y whose bisector is x: the opening stress is zz."""
    zero = [0.0] * len(opening)
    tensors = dict.fromkeys(("xx", "yy", "xy", "yz", "zx"), zero) | {"zz": opening}
    return line(
        position_mm=[float(place) for place in range(len(opening))],
        cases={"F": {"tensors_mpa": tensors}},
        tangent=[[0.0, 1.0, 0.0]] * len(opening),
        bisector=[[1.0, 0.0, 0.0]] * len(opening),
        average_over=3,
        **changes,
    )


def test_a_node_that_stands_out_of_its_mean_is_said(client: httpx.Client) -> None:
    found = content(client, body(tensor_line([60.0, 60.0, 60.0, 360.0, 60.0, 60.0, 60.0])))
    assert severities(found, "node-above-mean") == ["caution"]
    text = message(found, "node-above-mean")
    assert all(words in text for words in ("load case F", "station 3", "360 MPa", "160 MPa"))
    smooth = content(client, body(tensor_line([60.0, 62.0, 66.0, 70.0, 66.0, 0.0, 0.0])))
    assert not severities(smooth, "node-above-mean")
    left_out = tensor_line([360.0, 60.0, 60.0, 60.0, 60.0], exclude_ends_mm=0.5, exclude_ends_reason="run-off")
    assert not severities(content(client, body(left_out)), "node-above-mean")


@pytest.mark.parametrize(
    "name",
    [
        "en\u20111993-1-9-2005-normal-80",
        "EN-1993-1-9-2005-normal \u00a080",
        "en\u22121993-1-9-2005-normal-\u200b80",
        "\uff45n-1993-1-9-2005-normal-80",
        "en_1993-1-9-2005-normal-80",
    ],
)
def test_an_own_curve_does_not_look_like_one_of_the_catalogue(client: httpx.Client, name: str) -> None:
    own = {"name": name, "range_mpa": [200.0], "life_cycles": [2e6], "slopes": [3.0]}
    pointer = refused(client, "check", nominal({"curve": own}, F={"normal_mpa": [72.0]}))
    assert pointer == "/curves/curve/name"


# tables and their map


MAP = """
[table]
form = "long"
case = "case"
node_id = "node"
coordinates_mm = { x = "x", y = "y", z = "z" }
stress_mpa = { xx = "sxx", yy = "syy", zz = "szz", xy = "sxy", yz = "syz", zx = "szx" }
[[lines]]
match = "*"
kind = "toe"
opening_angle_deg = 135.0
notch_size_mm = 8.0
element = "tet10"
element_size_mm = MESH
average_over = 3
constants = { opening = 0.8 }
plate_normal_from = { point_mm = [0, 0, 0], axis = [0, 0, 1], sense = "SENSE" }
weld_direction = [0, 0, 1]
[request.loading]
kind = "constant"
cycles = 1e6
factors = { V = { maximum = 1.0, minimum = 0.0 } }
"""
HEAD = "node,case,x,y,z,sxx,syy,szz,sxy,syz,szx"


def ring_rows(radius: float, cases: tuple[str, ...] = ("V",)) -> list[dict[str, str]]:
    """A quarter of a ring about z under a hoop and a radial stress."""
    rows = []
    for place in range(20):
        angle = place / 20 * np.pi / 2
        point = (radius * np.cos(angle), radius * np.sin(angle), 0.0)
        for case in cases:
            figures = [place, case, *(repr(float(x)) for x in point), 40.0, 30.0, 100.0, 5.0, 8.0, 20.0]
            rows.append(dict(zip(HEAD.split(","), (str(f) for f in figures), strict=True)))
    return rows


def ring_map(mesh: float, sense: str = "outward") -> Any:
    return read_map(MAP.replace("MESH", repr(mesh)).replace("SENSE", sense))


def test_a_table_in_metres_that_agrees_with_its_mesh_is_said() -> None:
    doubts = " ".join(text for _, text in map_table(ring_rows(0.03), ring_map(0.00236)).doubts)
    assert "outside: mesh size 0.00236 mm" in doubts
    assert "own-constant" in doubts
    plain = " ".join(text for _, text in map_table(ring_rows(30.0), ring_map(2.36)).doubts)
    assert SCALE not in plain


def test_a_normal_that_points_inward_is_called_so_and_turns_the_notch() -> None:
    """The toe on the inside of a tube: outward of the plate is towards the axis."""
    out, inward = (map_table(ring_rows(30.0), ring_map(2.36, sense)) for sense in ("outward", "inward"))
    assert any("(outward on faith)" in text for text in out.assumptions["line"])
    assert any("(out of the plate, towards the axis or point, on faith)" in text for text in inward.assumptions["line"])
    for found, sign in ((out, 1.0), (inward, -1.0)):
        (one,) = found.request["lines"]
        points = np.array(one["coordinates_mm"])
        radial = points / np.linalg.norm(points, axis=1, keepdims=True)
        half = np.radians(67.5)
        expected = np.cos(half) * np.array([0.0, 0.0, 1.0]) - sign * np.sin(half) * radial
        np.testing.assert_allclose(np.array(one["bisector"])[1:-1], expected[1:-1], atol=2e-3)


def test_a_load_case_that_misses_a_node_is_refused() -> None:
    rows = [row for row in ring_rows(30.0, ("V", "L")) if (row["node"], row["case"]) != ("7", "L")]
    with pytest.raises(Problem, match="lists other nodes"):
        map_table(rows, ring_map(2.36))
    rows = [row for row in ring_rows(30.0, ("V", "L")) if (row["node"], row["case"]) != ("7", "V")]
    with pytest.raises(Problem, match="lists other nodes"):
        map_table(rows, ring_map(2.36))
