"""Checks and peak stresses of inputs that agree with each other and are wrong all the same."""

from __future__ import annotations

from typing import Any

import httpx
import pytest

TOE = {"kind": "toe", "opening_angle_deg": 135.0, "size_mm": 10.0}
MESH = {"element": "tet10", "size_mm": 1.0}
EQUAL = [60.0, 60.0, 60.0]


def line(**changes: Any) -> dict[str, Any]:
    """A toe of three stations 1 mm apart."""
    peaks = {"opening": EQUAL}
    plain = {"name": "w", "notch": TOE, "mesh": MESH, "position_mm": [0.0, 1.0, 2.0]}
    return {**plain, "cases": {"F": {"peaks_mpa": peaks}}, **changes}


def body(*lines: dict[str, Any], maximum: float = 1.0, cycles: float = 1e5, **more: Any) -> dict[str, Any]:
    factors = {name: {"max": maximum, "min": 0.0} for name in lines[0]["cases"]}
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


SCALE = "lengths-not-millimetres"


def scaled(share: float, *, notch: bool) -> dict[str, Any]:
    """Mesh, positions and, where told, the notch in another unit."""
    size = 10.0 * share if notch else 10.0
    return {
        "notch": {**TOE, "size_mm": size},
        "mesh": {**MESH, "size_mm": share},
        "position_mm": [0.0, share, 2 * share],
    }


@pytest.mark.parametrize("notch", [True, False])
@pytest.mark.parametrize("share", [1e-3, 1.0 / 25.4])
def test_lengths_in_metres_or_inches_that_agree_pass_nothing(
    client: httpx.Client, share: float, notch: bool
) -> None:
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
        notch={**TOE, "size_mm": size},
        mesh={**MESH, "size_mm": mesh},
        position_mm=[place * step for place in range(5)],
        cases={"F": {"peaks_mpa": {"opening": [60.0] * 5}}},
    )
    assert severities(content(client, body(given)), SCALE) == severity


def test_a_mesh_size_that_nothing_shows_is_doubtful_under_a_verdict(client: httpx.Client) -> None:
    one = line(position_mm=[0.0], cases={"F": {"peaks_mpa": {"opening": [60.0]}}})
    assert severities(content(client, body(one)), "mesh-size-on-faith") == ["caution"]
    alone = {"notch": TOE, "mesh": MESH, "peaks_mpa": {"opening": [60.0]}}
    assert severities(content(client, alone, "stress/peak"), "mesh-size-on-faith") == ["note"]


# a mode that is left out


def test_a_large_stress_that_is_not_counted_leaves_a_pass_undecided(client: httpx.Client) -> None:
    for sliding, verdict, severity in (
        (20.0, "pass", "note"),
        (40.0, "pass", "caution"),
        (600.0, "undecided", "outside"),
    ):
        peaks = {"opening": [40.0] * 3, "sliding": [0.0, -sliding, 0.0]}
        found = content(client, body(line(cases={"F": {"peaks_mpa": peaks}}, notch=TOE), maximum=0.7))
        expected = verdict if sliding != 40.0 else "pass"
        assert (found["answer"]["verdict"], severities(found, "sliding-not-counted")) == (
            expected,
            [severity],
        )
        assert f"{0.7 * sliding:.4g} MPa" in message(found, "sliding-not-counted")
        assert "28 MPa" in message(found, "sliding-not-counted")
        peak = content(client, peak_request(peaks_mpa=peaks), "stress/peak")
        assert severities(peak, "sliding-not-counted") == [severity]


def test_a_stress_that_is_not_counted_does_not_doubt_a_failure(client: httpx.Client) -> None:
    peaks = {"opening": [600.0] * 3, "sliding": [900.0] * 3}
    found = content(client, body(line(cases={"F": {"peaks_mpa": peaks}})))
    assert (found["answer"]["verdict"], severities(found, "sliding-not-counted")) == ("fail", ["outside"])


def test_what_rounding_leaves_of_opening_is_no_biaxiality(client: httpx.Client) -> None:
    peaks = {"opening": [1e-14] * 3, "tearing": EQUAL}
    found = content(client, body(line(cases={"F": {"peaks_mpa": peaks}})))
    assert found["answer"]["biaxiality_ratio"] is None
    peak = content(client, peak_request(peaks_mpa=peaks), "stress/peak")
    assert peak["answer"]["biaxiality_ratio"] == [None] * 3


# constants and material of one's own


def with_constant(value: float, element: str = "tet10", **others: float) -> dict[str, Any]:
    return {"element": element, "size_mm": 1.0, "constants": {"opening": value, **others}}


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
    mesh = with_constant(value)
    found = content(client, body(line(mesh=mesh), maximum=10.0 if value > 1.0 else 9.0))
    assert severities(found, "own-constant") == [severity]
    assert all(figure in message(found, "own-constant") for figure in (f"{value:g}", "1.21"))
    assert found["answer"]["verdict"] == verdict
    peak = content(client, peak_request(mesh=mesh), "stress/peak")
    assert severities(peak, "own-constant") == [severity]


def test_the_published_constant_keeps_its_doubts_when_it_is_given(client: httpx.Client) -> None:
    plain = content(client, body(line()))
    given = content(client, body(line(mesh=with_constant(1.21, tearing=1.7))))
    assert given["findings"] == plain["findings"]


def test_the_constant_of_an_own_element_is_unchecked(client: httpx.Client) -> None:
    found = content(client, body(line(mesh=with_constant(0.8, "own", tearing=1.0))))
    assert severities(found, "own-constant") == ["caution", "caution"]


@pytest.mark.parametrize(
    ("ratio", "severity"),
    [(0.3, []), (0.33, ["caution"]), (0.25, ["caution", "outside"]), (0.4, ["caution", "outside"])],
)
def test_poissons_ratio_is_held_against_the_materials(
    client: httpx.Client, ratio: float, severity: list[str]
) -> None:
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
    material["control_radius_mm"] = 0.5
    assert not severities(content(client, body(line(), material=material)), "control-radius-far")
