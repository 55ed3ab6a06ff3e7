"""Very narrow bands, where differences of nearly equal numbers decide: the formulas tend to the narrow."""

from __future__ import annotations

from itertools import pairwise

import pytest

from fatcore.curves.standards.catalogue import find_curve
from fatcore.spectrum.random import damage as random
from fatcore.spectrum.random.density import Bandwidth, bandwidth

CURVE = find_curve("dnv-rp-c203-2016-d-air")


def band(half_width: float) -> Bandwidth:
    """A flat band about 10 Hz with a variance of 1000 MPa^2; half_width is relative to the middle."""
    density = 1000.0 / (20.0 * half_width)
    return bandwidth([10.0 * (1.0 - half_width), 10.0 * (1.0 + half_width)], [density, density])


@pytest.mark.parametrize("exponent", range(1, 12))
def test_width_of_a_flat_band(exponent: int) -> None:
    """1 - a2 = 2/3 w^2 + O(w^4) by the moments of a flat band."""
    width = 10.0**-exponent
    measures = band(width)
    assert measures.rms_mpa == pytest.approx(1000.0**0.5, rel=1e-6)
    assert measures.crossing_rate_per_s == pytest.approx(10.0, rel=0.2 * width + 1e-6)
    assert 1.0 - measures.irregularity == pytest.approx(2.0 / 3.0 * width**2, rel=0.02, abs=2e-14)


def test_broad_band_formulas_tend_to_the_narrow_band_and_then_stand_back() -> None:
    shares = {"dirlik": [], "tovo-benasciutti": []}  # type: dict[str, list[float]]
    for exponent in range(1, 12):
        measures = band(10.0**-exponent)
        narrow = random.narrow_band(measures, CURVE)
        for name, formula in (("dirlik", random.dirlik), ("tovo-benasciutti", random.tovo_benasciutti)):
            rate = formula(measures, CURVE)
            assert (rate is None) == (exponent > 4), (name, exponent)
            if rate is not None:
                shares[name].append(1.0 - rate / narrow)
                assert 0.0 < shares[name][-1] < 1.5 * (1.0 - measures.irregularity) + 1e-12
    assert all(late < early for each in shares.values() for early, late in pairwise(each))
