"""IACS Common Structural Rules, January 2019, Pt 1 Ch 9 Sec 3 [4.1]: thickness exponents (read)."""

from __future__ import annotations

import math

import pytest

from fatcore.curves.corrections.thickness import details, thickness

EXPONENTS = {
    "cruciform-t-transverse-as-welded": "0.25",
    "cruciform-t-transverse-toe-treated": "0.2",
    "transverse-butt-as-welded": "0.2",
    "butt-ground-flush-or-toe-treated": "0.1",
    "longitudinal-weld-or-edge-attachment": "0.1",
    "flat-bar-or-bulb-longitudinal-attachment": "0",
    "longitudinal-attachment-or-doubler-as-welded": "0.2",
    "longitudinal-attachment-or-doubler-toe-treated": "0.1",
    "supported-longitudinal-attachment-or-doubler-as-welded": "0.1",
    "supported-longitudinal-attachment-or-doubler-toe-treated": "0",
}


@pytest.mark.parametrize(("detail", "exponent"), EXPONENTS.items())
def test_exponent(detail: str, exponent: str) -> None:
    factor = thickness(40.0, document="iacs-csr-2019", detail=detail, reference_mm=20.0).strength_factor
    assert -math.log2(float(factor)) == pytest.approx(float(exponent), abs=1e-12)


def test_every_detail_of_the_table_is_here() -> None:
    assert set(details("iacs-csr-2019")) == set(EXPONENTS)
