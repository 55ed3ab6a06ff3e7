"""Choices of trials that no example reaches."""

from __future__ import annotations

from typing import Any

import pytest

from service.base.envelope import evaluate
from service.topics.registry import find

COMPLIANCE = {
    "kind": "from-compliance",
    "compliance_mm_per_n": [2e-5, 3e-5],
    "width_mm": 50.0,
    "thickness_mm": 12.0,
    "youngs_modulus_mpa": 206000.0,
}
REQUESTS = [
    ("POST", "trials/crack-length", {"readings": {**COMPLIANCE, "gauge": gauge}})
    for gauge in ("load-line", "front-face")
]


def sizes(readings: dict[str, Any]) -> list[float]:
    calculation = find("trials/crack-length")
    assert calculation is not None
    found = evaluate(calculation, {"readings": readings}).envelope()["answer"]["sizes"]
    return list(found["reading"])


def test_specimen_compact_has_a_form_of_its_own() -> None:
    form = {"specimen": "compact", "width_mm": 50.0}
    # 0.5766 + 1.9169 x - 1.0712 x^2 + 1.6898 x^3 at x = 0.5 (from memory)
    assert sizes({"kind": "to-potential", "form": form, "size_mm": [25.0]}) == pytest.approx([1.4785], abs=5e-5)
    johnson = {"width_mm": 50.0, "probe_mm": 3.0, "reference_mm": 5.0}
    others = [
        sizes({"kind": "to-potential", "form": {"specimen": name, **johnson}, "size_mm": [15.0]})
        for name in ("centre", "edge")
    ]
    assert others[0] != others[1]
