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
