"""Choices of trials that no example reaches."""

from __future__ import annotations

from typing import Any

import pytest

from service.base.envelope import evaluate
from service.topics.registry import find
from tests.api.report_pages import example

COMPLIANCE = {
    "kind": "from-compliance",
    "compliance_mm_per_n": [2e-5, 3e-5],
    "width_mm": 50.0,
    "thickness_mm": 12.0,
    "youngs_modulus_mpa": 206000.0,
}
LIVES = {"tests": 10, "lowest_range_mpa": 100.0, "highest_range_mpa": 300.0, "longest_life_cycles": 2e6}
FITTED = {"log10_constants": [12.0], "slopes": [3.0], "survival_probability": 0.9, "sd_log10_cycles": 0.2}
RATES = {
    "name": "plate/mean",
    "specimens": 3,
    "rates_used": 90,
    "lowest_delta_k_mpa_sqrt_mm": 100.0,
    "highest_delta_k_mpa_sqrt_mm": 2000.0,
    "growth_from_mpa_sqrt_mm": 90.0,
    "lowest_load_ratio": 0.1,
    "highest_load_ratio": 0.5,
}
LAW = {"stages": [{"coefficient": 5e-13, "exponent": 3.0}], "units": "mm-MPa"}
REQUESTS = [
    *(
        ("POST", "trials/crack-length", {"readings": {**COMPLIANCE, "gauge": gauge}})
        for gauge in ("load-line", "front-face")
    ),
    *(
        (
            "POST",
            "curves/life",
            {
                "curve": {**FITTED, "tested": {**LIVES, "distribution": distribution}},
                "stress_range_mpa": [150.0],
                "survival_probability": 0.99,
            },
        )
        for distribution in ("normal", "smallest-extreme-value")
    ),
    *(
        (
            "POST",
            "cracks/growth",
            {**example("cracks/growth-surface-blocks"), "law": {**LAW, "tested": {**RATES, "statistic": statistic}}},
        )
        for statistic in ("mean", "upper")
    ),
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
