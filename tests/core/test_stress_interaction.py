"""Combination of normal and shear stress: sums, and the utilisation that they mean."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fatcore.errors import InputError, UnknownError
from fatcore.stress.interaction import combine_crane, combine_en, combine_iiw, interaction_form

SHARE = st.floats(0.001, 3.0)


@given(SHARE, SHARE)
def test_ranges_divided_by_the_utilisation_just_pass(normal: float, shear: float) -> None:
    for form in (
        combine_en,
        lambda n, s: combine_iiw(n, s, proportional=True),
        lambda n, s: combine_iiw(n, s, proportional=False),
        lambda n, s: combine_crane(n, s, normal_slope=3.0, shear_slope=5.0, transverse_utilisation=0.2 * n),
    ):
        utilisation = float(form(normal, shear).utilisation)
        at_limit = form(normal / utilisation, shear / utilisation)
        assert float(at_limit.interaction_sum) == pytest.approx(1.0, rel=1e-9)
        passes = float(form(normal, shear).interaction_sum) <= 1.0
        assert passes == (utilisation <= 1.0) or utilisation == pytest.approx(1.0)


def test_one_stress_alone_is_its_own_utilisation() -> None:
    assert float(combine_en(0.8, 0.0).utilisation) == pytest.approx(0.8)
    assert float(combine_en(0.0, 0.7).utilisation) == pytest.approx(0.7)
    assert float(combine_iiw(0.8, 0.0, proportional=False).utilisation) == pytest.approx(0.8 * np.sqrt(2.0))
    assert float(combine_iiw(0.0, 0.0, proportional=True).utilisation) == 0.0


def test_squares_have_a_closed_form() -> None:
    found = combine_iiw([0.3, 0.6], [0.4, 0.8], proportional=False)
    assert found.interaction_sum == pytest.approx([0.5, 2.0])
    assert found.utilisation == pytest.approx(np.sqrt([0.5, 2.0]))


def test_loading_and_material_choose_the_limit_and_say_so() -> None:
    limits = {
        (True, "steel"): 1.0,
        (False, "steel"): 0.5,
        (True, "aluminium"): 1.0,
        (False, "aluminium"): 1.0,
    }
    for (proportional, material), limit in limits.items():
        found = combine_iiw(1.0, 0.0, proportional=proportional, material=material)
        assert float(found.interaction_sum) == pytest.approx(1.0 / limit)
        assert f"{limit:g}" in found.findings[0].message
        assert found.sources == ("interaction-iiw-2016",)


def test_crane_form_with_the_slopes_of_the_curves_in_use() -> None:
    found = combine_crane(0.8, 0.7, normal_slope=3.0, shear_slope=5.0, transverse_utilisation=0.5, transverse_slope=4.0)
    assert float(found.interaction_sum) == pytest.approx(0.8**3 + 0.5**4 + 0.7**5)
    same = combine_crane(0.8, 0.7, normal_slope=3.0, shear_slope=5.0, transverse_utilisation=0.5)
    assert float(same.interaction_sum) == pytest.approx(0.8**3 + 0.5**3 + 0.7**5)
    two = combine_crane(0.8, 0.7, normal_slope=3.0, shear_slope=5.0)
    assert float(two.interaction_sum) == pytest.approx(float(combine_en(0.8, 0.7).interaction_sum))


@pytest.mark.parametrize(
    ("call", "name"),
    [
        (lambda: combine_en(-0.1, 0.2), "normal_utilisation"),
        (lambda: combine_en(0.1, np.nan), "shear_utilisation"),
        (lambda: combine_en([0.1, 0.2], [0.1, 0.2, 0.3]), "shear_utilisation"),
        (lambda: combine_iiw(0.1, 0.1, proportional=True, material="wood"), "material"),
        (lambda: combine_crane(0.1, 0.1, normal_slope=0.0, shear_slope=5.0), "normal_slope"),
        (lambda: combine_crane(0.1, 0.1, normal_slope=3.0, shear_slope=51.0), "shear_slope"),
        (lambda: combine_crane(1e30, 0.1, normal_slope=50.0, shear_slope=5.0), "normal_utilisation"),
        (lambda: interaction_form("cubic"), "form"),
    ],
)
def test_refused(call: object, name: str) -> None:
    with pytest.raises(InputError) as caught:
        call()  # type: ignore[operator]
    assert caught.value.path == (name,)


def test_unknown_form_lists_the_known() -> None:
    with pytest.raises(UnknownError, match="iiw-2016"):
        interaction_form("cubic")
