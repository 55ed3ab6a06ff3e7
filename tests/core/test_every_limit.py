"""Both ends of every limit: at the end and just inside nothing is said, just outside the finding is there."""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Callable, Iterable, Iterator
from itertools import product
from typing import Any

import numpy as np
import pytest
from scipy.special import gammaincc

import fatcore
from fatcore.cracks.configurations.intensity_table import IntensityTable
from fatcore.cracks.configurations.plates import SurfaceCrack
from fatcore.cracks.configurations.sharing import Section, Sharing, sharing_findings
from fatcore.cracks.driving.closure import opening_limit
from fatcore.cracks.intensity.families import FAMILIES
from fatcore.cracks.intensity.family import REQUIRED, Family
from fatcore.cracks.intensity.weight_function import intensity as weight
from fatcore.cracks.intensity.weight_function.profiles import PathProfile
from fatcore.curves.lookup import curve_strength
from fatcore.curves.standards.catalogue import find_curve
from fatcore.errors import FatcoreError
from fatcore.findings import Finding, Limit, outside_limits
from fatcore.spectrum.damage.shapes import equivalent_ratio
from fatcore.spectrum.random.findings import random_findings
from fatcore.spectrum.random.methods import ByMethod
from fatcore.stress.materials import material_limits
from fatcore.stress.mean_stress import LOAD_RATIO_LIMIT
from fatcore.stress.notch.energy_coefficients import coefficient_findings

STEP = 1e-6
LENGTHS = {"half_length_mm": 2.0, "surface_length_mm": 2.0, "thickness_mm": 10.0}
SCALES = np.geomspace(1.1e-4, 1.3e4, 161)


def starts(family: Family) -> Iterator[dict[str, Any]]:
    """Plain arguments for every combination of the family's choices."""
    fixed: dict[str, Any] = {family.size: 1.0}
    choices: dict[str, tuple[str, ...]] = {}
    for each in family.parameters:
        if each.role == "choice":
            choices[each.name] = each.choices
        elif each.default is REQUIRED or each.role == "length":
            fixed[each.name] = {"length": LENGTHS.get(each.name, 20.0), "angle": 45.0, "load": 100.0}[each.role]
    for words in product(*choices.values()):
        yield {**fixed, **dict(zip(choices, words, strict=True))}


def ratio(family: Family, values: dict[str, Any], name: str) -> float:
    """The ratio that a limit speaks of, nan where the arguments do not give one."""
    given = {key: value for key, value in values.items() if key != family.size}
    try:
        with np.errstate(all="ignore"):
            found = family.ratios(family.checked(values[family.size], given))
    except FatcoreError:
        return float("nan")
    return float(np.max(found[name])) if name in found else float("nan")


def ends(family: Family, values: dict[str, Any], limit: Limit, end: float) -> Iterator[tuple[str, float]]:
    """Lengths and their values at which the ratio meets the end of the limit."""
    for name in [key for key, value in values.items() if isinstance(value, float)]:

        def miss(scale: float, name: str = name) -> float:
            return ratio(family, values | {name: values[name] * scale}, limit.name) - end

        found = np.array([miss(scale) for scale in SCALES])
        for low, high, one, other in zip(SCALES, SCALES[1:], found, found[1:], strict=False):
            if one * other < 0.0:
                for _ in range(100):
                    middle = 0.5 * (low + high)
                    low, high = (middle, high) if miss(middle) * one > 0.0 else (low, middle)
                yield name, values[name] * high
                break


def told(family: Family, values: dict[str, Any], limit: Limit) -> bool | None:
    """Whether the finding of the limit is there; None when the arguments are refused."""
    rest = {key: each for key, each in values.items() if key != family.size}
    try:
        outcome = family.intensity(values[family.size], **rest)
    except FatcoreError:
        return None
    code = f"{limit.name.replace('_', '-')}-outside"
    return any(each.code == code for each in outcome.findings)


CASES = [
    pytest.param(family, limit, end, id=f"{family.name}-{limit.name}-{end:g}")
    for family in FAMILIES.values()
    for limit in family.limits
    for end in (limit.low, limit.high)
    if end
]
BEYOND = {  # the ends that the body itself sets, or that no length of the family moves
    ("relative_depth", 1.0),
    ("compact_alpha", 1.0),
    ("span_over_width", 4.0),
    ("clamped_long_length", 10.0),
}


@pytest.mark.uncounted
@pytest.mark.parametrize(("family", "limit", "end"), CASES)
def test_limit_of_a_family_is_left_exactly_at_its_end(family: Family, limit: Limit, end: float) -> None:
    used = [values for values in starts(family) if np.isfinite(ratio(family, values, limit.name))]
    if not used:  # the limit of another family with the same source
        return
    found = [(values, *place) for values in used for place in ends(family, values, limit, end)]
    assert found or (limit.name, end) in BEYOND, "no length reaches this end"
    seen: set[bool] = set()
    for values, name, length in found:
        said: dict[float, bool | None] = {}
        for value in (length, length * (1.0 - STEP), length * (1.0 + STEP)):
            given = values | {name: value}
            said[ratio(family, given, limit.name)] = told(family, given, limit)
        if set(said.values()) == {None}:
            continue  # these arguments fit no body, whatever this length is
        low = -np.inf if limit.low is None else limit.low * (1.0 - 1e-9)
        high = np.inf if limit.high is None else limit.high * (1.0 + 1e-9)
        for at, heard in said.items():
            if heard is None:  # refused: the body or the source ends here as well
                assert not low <= at <= high or (limit.name, end) in BEYOND, (at, end, values)
            else:
                assert heard == (not low <= at <= high), (at, end, values)
            seen.add(bool(heard) or heard is None)
    assert seen == {True, False} or (limit.name, end) in BEYOND


TABLE = IntensityTable([1.0, 2.0, 4.0], {"opening": [100.0, 150.0, 180.0]})
SECTION = Section(width_mm=10.0, breadth_mm=5.0)
DNV_B1 = find_curve("dnv-rp-c203-2016-b1-air")
SIZES = {"depth_mm": 1.0, "half_length_mm": 2.0, "thickness_mm": 10.0}
NARROW = ByMethod(wirsching_light=1.0, narrow_band=1.0, dirlik=1.0, tovo_benasciutti=1.0)


def of_random(irregularity: float = 0.5, slope: float = 4.0) -> Iterable[Finding]:
    return random_findings(NARROW, irregularity, slope, 1e6, [0.0, 1.0, 2.0], [0.0, 1.0, 0.0])


def at_toe(footprint: float) -> Iterable[Finding]:
    crack = SurfaceCrack(**SIZES, toe_footprint_mm=10.0 * footprint, toe_form="solid")
    return crack.findings(np.array([1.0]), np.array([2.0]))


PLACES: list[tuple[str, Callable[[float], Iterable[Finding]], str, float, float]] = [
    ("elber", lambda r: outside_limits([opening_limit("elber")], load_ratio=r), "load_ratio", -0.1, -1.0),
    ("elber", lambda r: outside_limits([opening_limit("elber")], load_ratio=r), "load_ratio", 0.7, 1.0),
    ("schijve", lambda r: outside_limits([opening_limit("schijve")], load_ratio=r), "load_ratio", -1.0, -1.0),
    ("fit", lambda a: coefficient_findings(a, "published-fit"), "opening_angle_deg", 150.0, 1.0),
    ("random", of_random, "irregularity", 0.16, -1.0),
    ("random", lambda m: of_random(slope=m), "slope", 3.0, -1.0),
    ("random", lambda m: of_random(slope=m), "slope", 6.0, 1.0),
    ("toe", at_toe, "footprint_over_thickness", 0.5, -1.0),
    ("toe", at_toe, "footprint_over_thickness", 2.75, 1.0),
    ("metals", lambda r: material_limits("structural-steel", r, 0.28, 135.0), "poisson_ratio", 0.27, -1.0),
    ("metals", lambda r: material_limits("structural-steel", r, 0.28, 135.0), "poisson_ratio", 0.34, 1.0),
    ("relieved", lambda r: outside_limits([LOAD_RATIO_LIMIT], load_ratio=r), "load_ratio", -1.0, -1.0),
    ("life", lambda n: curve_strength(DNV_B1, [n]).findings, "life_cycles", 1e4, -1.0),
    ("table", lambda a: TABLE.intensity(a).findings, "crack_size_mm", 4.0, 1.0),
    ("table", lambda a: TABLE.intensity(a).findings, "crack_size_mm", 1.0, -1.0),
    (
        "sharing",
        lambda x: sharing_findings(Sharing(length_mm=10.0 * x, grips="rigid"), SECTION, 0.5),
        "length_over_width",
        2.0,
        -1.0,
    ),
    (
        "sharing",
        lambda x: sharing_findings(Sharing(length_mm=40.0, grips="rigid"), SECTION, x),
        "relative_depth",
        0.9,
        1.0,
    ),
]


@pytest.mark.parametrize(
    ("findings_at", "field", "end", "outward"),
    [pytest.param(*rest, id=f"{name}-{rest[1]}-{rest[2]:g}") for name, *rest in PLACES],
)
def test_limit_is_left_exactly_at_its_end(
    findings_at: Callable[[float], Iterable[Finding]], field: str, end: float, outward: float
) -> None:
    def told(value: float) -> bool:
        return any(each.field == field and each.severity == "outside" for each in findings_at(value))

    step = outward * STEP * abs(end)
    assert [told(end - step), told(end), told(end + step)] == [False, False, True]


ENDS = [Limit("thickness_mm", 5.0, 150.0, "own", "here"), Limit("load_ratio", -2.0, None, "own", "here")]


@pytest.mark.parametrize("limit", ENDS, ids=lambda limit: limit.name)
def test_an_end_belongs_to_its_limit(limit: Limit) -> None:
    for end, outward in ((limit.low, -1.0), (limit.high, 1.0)):
        if end is None:
            assert limit.finding(outward * 1e30) is None
            continue
        step = outward * STEP * abs(end)
        assert limit.finding(end) is None
        assert limit.finding(end - step) is None
        finding = limit.finding([end, end + step, end + 2.0 * step])
        assert finding is not None
        assert (finding.severity, finding.count, finding.value) == ("outside", 2, end + 2.0 * step)
        assert (finding.low, finding.high) == (limit.low, limit.high)


def limits_of_the_core() -> set[str]:
    """Names of every limit that some module of the core holds."""
    found: set[str] = set()
    for each in pkgutil.walk_packages(fatcore.__path__, "fatcore."):
        for value in vars(importlib.import_module(each.name)).values():
            held = value if isinstance(value, tuple | list) else (value,)
            found |= {limit.name for limit in held if isinstance(limit, Limit)}
    return found


def test_no_limit_is_left_untried() -> None:
    tried = {limit.name for family in FAMILIES.values() for limit in family.limits}
    tried |= {field for _, _, field, *_ in PLACES} | {"edge_alpha", "share_beyond"}
    untried = limits_of_the_core() - tried
    assert not untried


@pytest.mark.parametrize(("shift", "said"), [(-STEP, False), (0.0, False), (STEP, True)])
def test_weight_function_of_the_edge_crack_ends_at_its_table(shift: float, said: bool) -> None:
    path = PathProfile([0.0, 9.9], [100.0, 100.0])
    found = weight.stress_intensity(path, 8.0 * (1.0 + shift), point="edge", thickness_mm=10.0)
    assert any(each.code == "edge-alpha-outside" for each in found.findings) == said


@pytest.mark.parametrize("slope", [3.0, 5.0])
def test_share_beyond_the_largest_range_is_told_from_its_limit_on(slope: float) -> None:
    """The share rises with a falling number of cycles: both sides of the number that gives 0.007."""
    low, high = 10.0, 1e9
    for _ in range(200):
        middle = (low * high) ** 0.5
        beyond = float(gammaincc(1.0 + slope, np.log(middle)))
        low, high = (middle, high) if beyond > 0.007 else (low, middle)
    codes = [[each.code for each in equivalent_ratio(slope, low * scale, 1.0).findings] for scale in (0.999, 1.001)]
    assert [bool(each) for each in codes] == [True, False]
