"""The catalogue: every curve of every document, its rules of use, and what it says about doubtful figures."""

from __future__ import annotations

import pytest

from fatcore import sources, tables
from fatcore.curves.curve import Curve
from fatcore.curves.standards import catalogue, listing
from fatcore.curves.standards.documents import all_documents, document, rule
from fatcore.curves.standards.reading import all_rows
from fatcore.errors import InputError, NotCoveredError, UnknownError

IDS = catalogue.all_ids()
LOADINGS = ("constant", "variable")


@pytest.mark.parametrize("curve_id", IDS)
def test_every_curve_is_whole(curve_id: str) -> None:
    for loading in LOADINGS:
        found = catalogue.describe_curve(curve_id, loading=loading)  # type: ignore[arg-type]
        curve = found.curve
        assert curve.id == curve_id
        assert curve.loading in (loading, "any")
        assert curve.title
        assert curve.survival_probability is not None
        assert curve.survival_definition
        assert curve.table in tables.table_names("curves")
        assert sources.source(curve.source).citation
        assert curve.source in found.sources
        assert found.tables == (curve.table,)
        assert list(curve.knee_cycles()) == sorted(curve.knee_cycles())


@pytest.mark.parametrize("curve_id", IDS)
def test_the_curve_for_variable_amplitude_is_the_safe_side(curve_id: str) -> None:
    constant, variable = (catalogue.find_curve(curve_id, loading=each) for each in LOADINGS)  # type: ignore[arg-type]
    if constant.quantity != "stress range":
        assert constant == variable
        return
    loads = [constant.reference_range_mpa(cycles) for cycles in (1e5, 1e6, 1e7, 1e8, 1e9)]
    loads = [load * share for load in loads for share in (0.5, 0.9, 1.0, 1.1)]
    assert (variable.damage_per_cycle(loads) >= constant.damage_per_cycle(loads) * (1 - 1e-12)).all()


def test_ids_are_kebab_case_and_grouped_by_document() -> None:
    assert len(IDS) == len(set(IDS)) == 130
    assert all(set(each) <= set("abcdefghijklmnopqrstuvwxyz0123456789-") for each in IDS)
    owners = [all_rows()[each].table for each in IDS]
    assert len({*owners}) == sum(1 for a, b in zip(["", *owners], owners, strict=False) if a != b)


@pytest.mark.parametrize(
    ("start", "count"),
    [
        ("iiw-2016-normal-steel", 13),
        ("iiw-2016-normal-aluminium", 15),
        ("iiw-2016-", 42),
        ("en-1993-1-9-2005-normal", 14),
        ("en-1993-1-9-2005-shear", 2),
        ("bs-7608-1993", 10),
        ("dnv-rp-c203-2016", 44),
        ("iso-19902-2007", 9),
        ("notch-", 6),
        ("peak-stress", 2),
        ("energy-density", 1),
    ],
)
def test_number_of_curves(start: str, count: int) -> None:
    assert sum(each.startswith(start) for each in IDS) == count


def test_the_aluminium_band_of_the_peak_stress_method_is_not_offered() -> None:
    assert not [each for each in IDS if each.startswith("peak-stress") and "alu" in each]
    assert {catalogue.find_curve(each).material for each in IDS if each.startswith("peak-stress")} == {"steel"}


def test_classes_are_the_ranges_at_two_million_cycles() -> None:
    for curve_id, row in all_rows().items():
        if "class_mpa" in row.entry:
            assert catalogue.find_curve(curve_id).reference_range_mpa() == pytest.approx(
                row.entry["class_mpa"], rel=1e-13
            )


def test_constant_amplitude_of_the_two_documents_that_tell_it_apart() -> None:
    iiw = catalogue.find_curve("iiw-2016-normal-steel-90", loading="constant")
    assert iiw.slopes == (3, 22)
    assert iiw.cut_off_mpa is None
    en = catalogue.find_curve("en-1993-1-9-2005-normal-90", loading="constant")
    assert en.slopes == (3,)
    assert en.cut_off_cycles() == pytest.approx(5e6)
    assert catalogue.find_curve("en-1993-1-9-2005-normal-90").cut_off_cycles() == pytest.approx(1e8)


def test_mean_lines_of_bs_7608_come_back() -> None:
    curve = catalogue.find_curve("bs-7608-1993-d")
    assert curve.log10_constants[0] == pytest.approx(12.6007 - 2 * 0.2095, abs=1e-12)
    assert curve.at_survival(0.5).log10_constants[0] == pytest.approx(12.6007, abs=1e-12)
    assert catalogue.find_curve("bs-7608-1993-s").slopes == (8,)


def test_unknown_curves_are_answered_with_near_ones() -> None:
    with pytest.raises(UnknownError) as caught:
        catalogue.find_curve("dnv-rp-c203-2016-d-aire")
    assert "dnv-rp-c203-2016-d-air" in caught.value.known
    with pytest.raises(UnknownError) as caught:
        catalogue.describe_curve("????")
    assert set(caught.value.known) == set(IDS)
    with pytest.raises(InputError) as refused:
        catalogue.find_curve("energy-density", loading="any")
    assert refused.value.path == ("loading",)


def test_the_same_class_in_other_surroundings() -> None:
    air = "dnv-rp-c203-2016-f1-air"
    assert catalogue.in_environment(air, "air") == air
    assert catalogue.in_environment(air, "free-corrosion") == "dnv-rp-c203-2016-f1-free-corrosion"
    assert catalogue.in_environment("dnv-rp-c203-2016-f1-free-corrosion", "air") == air
    assert catalogue.in_environment("energy-density", "air") == "energy-density"
    for curve_id in ("dnv-rp-c203-2016-t-air", "iiw-2016-normal-steel-90"):
        with pytest.raises(NotCoveredError):
            catalogue.in_environment(curve_id, "free-corrosion")


def test_limits_of_use() -> None:
    normal = catalogue.range_limit("en-1993-1-9-2005-normal-71", 355.0)
    shear = catalogue.range_limit("en-1993-1-9-2005-shear-100", 355.0)
    spot = catalogue.range_limit("iiw-2016-hot-spot-steel-90", 355.0)
    assert normal is not None
    assert shear is not None
    assert spot is not None
    assert (normal.high, spot.high) == (532.5, 710.0)
    assert shear.high == pytest.approx(1.5 * 355.0 / 3**0.5, rel=1e-15)
    assert catalogue.range_limit("peak-stress-opening", 355.0) is None


def test_rules_that_go_with_a_curve() -> None:
    dnv = catalogue.describe_curve("dnv-rp-c203-2016-f-air")
    assert (dnv.thickness_exponent, dnv.thickness_reference_mm) == (0.25, 25.0)
    assert dnv.stress_concentration_factor == 1.27
    assert (dnv.miner_limit, dnv.environment, dnv.where) == (1.0, "air", "table 2-1")
    tubular = catalogue.describe_curve("dnv-rp-c203-2016-t-air")
    assert tubular.thickness_exponent is None
    iiw = catalogue.describe_curve("iiw-2016-notch-r1-steel-225")
    assert iiw.miner_limit == 0.5
    assert iiw.thickness_exponents["cruciform-as-welded"] == 0.3
    assert iiw.least_notch_over_structural == 1.6
    assert iiw.partial_factors["safe-life"]["loss-of-life"] == 1.4
    en = catalogue.describe_curve("en-1993-1-9-2005-normal-71")
    assert "esdep-12-8" in en.sources
    assert en.use_limit_over_yield == 1.5
    assert en.least_notch_over_structural is None
    assert catalogue.describe_curve("peak-stress-shear").printed_scatter_index == 1.9
    assert catalogue.describe_curve("energy-density").reference_energy_density_mj_m3 == pytest.approx(0.058)


@pytest.mark.parametrize(
    ("curve_id", "code"),
    [
        ("dnv-rp-c203-2016-t-air", "curve-doubtful"),
        ("dnv-rp-c203-2016-d-air", "branches-joined"),
        ("iiw-2016-normal-aluminium-63", "curve-doubtful"),
        ("notch-shear-r1-steel-160", "curve-doubtful"),
        ("bs-7608-1993-s", "curve-remark"),
    ],
)
def test_doubts_are_told(curve_id: str, code: str) -> None:
    assert code in {each.code for each in catalogue.describe_curve(curve_id).findings}


def test_what_is_not_doubtful_is_not_called_so() -> None:
    for curve_id in (
        "iiw-2016-normal-aluminium-50",
        "en-1993-1-9-2005-normal-71",
        "iso-19902-2007-d-seawater-protected",
    ):
        assert catalogue.describe_curve(curve_id).findings == ()


def test_a_curve_of_the_users_own_is_called_unchecked() -> None:
    curve = Curve.from_point(id="mine", source="own-curve", range_mpa=80.0, slopes=(3,))
    (finding,) = catalogue.remarks(curve)
    assert (finding.code, finding.severity) == ("own-curve", "caution")


def test_documents_and_their_rules() -> None:
    assert {"iiw-2016", "hse-1995", "iacs-csr-2019", "notch-classes"} <= set(all_documents())
    assert document("hse-1995").content["class_factors"]["F2"] == 1.52
    with pytest.raises(UnknownError):
        document("none")
    with pytest.raises(NotCoveredError):
        rule("hse-1995", "partial_factors")


def test_listing_by_filters() -> None:
    everything = listing.list_curves()
    assert everything.id == IDS
    shear = listing.list_curves(document="iiw-2016", stress_kind="shear", material="steel")
    assert shear.id == ("iiw-2016-shear-steel-80", "iiw-2016-shear-steel-100")
    assert shear.reference_range_mpa == pytest.approx((80.0, 100.0))
    assert listing.list_curves(environment="free-corrosion", text="CLASS W3").id == (
        "dnv-rp-c203-2016-w3-free-corrosion",
    )
    assert listing.list_curves(text="nothing like it").id == ()
    energy = listing.list_curves(stress_kind="energy-density")
    assert energy.reference_range_mpa == (None,)
    assert energy.status == ("from memory",)
    assert energy.sources == ("energy-density-band",)
