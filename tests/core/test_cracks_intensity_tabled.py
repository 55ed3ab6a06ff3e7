"""K(a) from a user's table: shape, ends, modes, bad input."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fatcore.cracks.configurations.intensity_table import IntensityTable
from fatcore.errors import InputError, NotCoveredError, UnknownError

SIZES = [0.5, 1.0, 2.0, 4.0, 8.0]
OPENING = [100.0, 150.0, 210.0, 215.0, 205.0]
TABLE = IntensityTable(SIZES, {"opening": OPENING, "sliding": [-5.0, -4.0, 0.0, 3.0, 9.0]}, [0.9, 0.8, 0.7, 0.65, 0.6])


def test_points_return_exactly() -> None:
    assert np.allclose(TABLE.k(SIZES), OPENING, rtol=1e-14)
    assert np.allclose(TABLE.aspect(SIZES), [0.9, 0.8, 0.7, 0.65, 0.6], rtol=1e-14)
    assert TABLE.range_mm() == (0.5, 8.0)


@given(st.lists(st.floats(1.0, 500.0), min_size=3, max_size=8))
def test_no_overshoot_between_points(values: list[float]) -> None:
    sizes = np.arange(1.0, len(values) + 1.0)
    table = IntensityTable(sizes, {"opening": values})
    for left, (low, high) in enumerate(pairwise(values), 1):
        inside = table.k(left + np.linspace(0.0, 1.0, 11))
        assert inside.min() >= min(low, high) - 1e-9
        assert inside.max() <= max(low, high) + 1e-9


def test_beyond_the_table_the_tangent_goes_on_and_is_reported() -> None:
    table = IntensityTable([1.0, 2.0, 3.0], {"opening": [10.0, 20.0, 30.0]})
    outcome = table.intensity([0.25, 2.5, 5.0])
    assert outcome.opening_mpa_sqrt_mm is not None
    assert outcome.opening_mpa_sqrt_mm.tolist() == pytest.approx([5.0, 25.0, 50.0])
    (finding,) = outcome.findings
    assert (finding.severity, finding.field, finding.count, finding.value) == (
        "outside",
        "crack_size_mm",
        2,
        5.0,
    )
    assert (finding.low, finding.high) == (1.0, 3.0)


def test_all_modes_and_the_aspect_come_out() -> None:
    outcome = TABLE.intensity(2.0)
    assert outcome.findings == ()
    assert outcome.sliding_mpa_sqrt_mm is not None
    assert float(outcome.sliding_mpa_sqrt_mm) == pytest.approx(0.0, abs=1e-12)
    assert outcome.tearing_mpa_sqrt_mm is None
    assert outcome.aspect_ratio is not None
    assert float(outcome.aspect_ratio) == pytest.approx(0.7)


@pytest.mark.parametrize(
    ("sizes", "columns", "aspect", "path"),
    [
        ([1.0, 1.0, 2.0], {"opening": [1.0, 1.0, 1.0]}, None, ("crack_size_mm", 1)),
        ([1.0, 3.0, 2.0], {"opening": [1.0, 1.0, 1.0]}, None, ("crack_size_mm", 2)),
        ([0.0, 1.0], {"opening": [1.0, 1.0]}, None, ("crack_size_mm",)),
        ([1.0], {"opening": [1.0]}, None, ("crack_size_mm",)),
        ([1.0, 2.0], {}, None, ("k_mpa_sqrt_mm",)),
        ([1.0, 2.0], {"opening": [1.0]}, None, ("k_mpa_sqrt_mm", "opening")),
        ([1.0, 2.0], {"opening": [1.0, np.nan]}, None, ("k_mpa_sqrt_mm",)),
        ([1.0, 2.0], {"mixed": [1.0, 2.0]}, None, ("k_mpa_sqrt_mm", "mixed")),
        ([1.0, 2.0], {"opening": [1.0, 2.0]}, [1.0], ("aspect_ratio",)),
        ([1.0, 2.0], {"opening": [1.0, 2.0]}, [1.0, 0.0], ("aspect_ratio",)),
    ],
)
def test_bad_tables(
    sizes: list[float], columns: dict[str, list[float]], aspect: list[float] | None, path: tuple[object, ...]
) -> None:
    with pytest.raises(InputError) as caught:
        IntensityTable(sizes, columns, aspect)
    assert caught.value.path == path


def test_what_is_not_tabled() -> None:
    with pytest.raises(UnknownError):
        TABLE.k(1.0, "tearing")
    with pytest.raises(InputError):
        IntensityTable([1.0, 2.0], {"opening": [1.0, 2.0]}).aspect(1.0)
    with pytest.raises(InputError):
        TABLE.intensity(-1.0)


def test_absurd_tables_are_refused() -> None:
    with pytest.raises(InputError) as caught:
        IntensityTable([1.0, 1.0 + 1e-15], {"opening": [0.0, 1e300]})
    assert caught.value.path == ("k_mpa_sqrt_mm", "opening")
    with pytest.raises(NotCoveredError):
        IntensityTable([1.0, 2.0], {"opening": [0.0, 1e300]}).intensity(1e30)
