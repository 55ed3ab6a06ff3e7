"""Element constants of the peak stress method: which one holds for an element, a mode, an angle."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Any, Literal

from fatcore import tables
from fatcore.errors import InputError, UnknownError, at
from fatcore.figures import against, as_given
from fatcore.findings import Finding
from fatcore.require import positive
from fatcore.stress.modes import MODES, Mode

ELEMENT_TABLE = "stress/element_constants"
Element = Literal["quad4", "brick8", "tet10", "tet4", "own"]
ELEMENTS: tuple[Element, ...] = ("quad4", "brick8", "tet10", "tet4")
OWN_ELEMENT = "own"

BELOW_SCATTER = "own-constant-below-scatter"
_SAME_CONSTANT = 0.005  # relative: a rounded figure is the same one
_ROUNDING_DEG = 1e-6  # an angle computed from coordinates may miss the end of a range by rounding
_WORDS = {
    "supported": "the published weights were recomputed with it",
    "recalled": "not confirmed independently",
    "doubtful": "doubtful, weakly supported",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class ElementConstant:
    """One published calibration: value, half width of its scatter band, range of angles, mesh requirement.

    size_ratio : (lowest angle, highest angle, least ratio of size to mesh size), the first that fits decides
    """

    mode: Mode
    constant: float
    scatter_pct: float
    low_deg: float
    high_deg: float
    size_ratio: tuple[tuple[float, float, float], ...]
    publication: str
    support: str
    caveat: str

    def holds(self, opening_angle_deg: float) -> bool:
        """Whether the angle lies in the published range."""
        return _inside(opening_angle_deg, self.low_deg, self.high_deg)

    def least_size_ratio(self, opening_angle_deg: float) -> float:
        """Smallest ratio of size to mesh size [-]; beyond the published angles the strictest one known."""
        fitting = [least for low, high, least in self.size_ratio if _inside(opening_angle_deg, low, high)]
        return fitting[0] if fitting else max(least for _, _, least in self.size_ratio)


@cache
def element_constants(element: str, mode: Mode) -> tuple[ElementConstant, ...]:
    """The published calibrations of an element for a mode, by rising angle.

    Raises : UnknownError for another element
    Source : [peak-stress-review-2020], [peak-stress-3d-tetrahedra-2018], [peak-stress-3d-2019]
    """
    if element not in ELEMENTS:
        raise UnknownError("element", element, (*ELEMENTS, OWN_ELEMENT), "element")
    rows = [r for r in tables.load(ELEMENT_TABLE)["constant"] if element in r["elements"] and r["mode"] == mode]
    return tuple(sorted((_entry(row) for row in rows), key=lambda entry: entry.low_deg))


def choose_constant(element: str, mode: Mode, opening_angle_deg: float) -> ElementConstant:
    """The calibration for an angle; nothing is interpolated.

    In a range: its constant. Between two ranges: the larger of the two constants, as the safe one. Beyond the
    ranges: the nearest. `constant_findings` then says that the published angles are left.

    >>> [choose_constant("tet10", "opening", angle).constant for angle in (60.0, 100.0, 135.0)]
    [1.05, 1.21, 1.21]
    """
    entries = element_constants(element, mode)
    for entry in entries:
        if entry.holds(opening_angle_deg):
            return entry
    below = [entry for entry in entries if entry.high_deg < opening_angle_deg][-1:]
    above = [entry for entry in entries if entry.low_deg > opening_angle_deg][:1]
    return max((*below, *above), key=lambda entry: entry.constant)


def constant_findings(entry: ElementConstant, element: str, opening_angle_deg: float) -> tuple[Finding, ...]:
    """The constant that was used with its scatter and status, and whether its published angles are left."""
    share = entry.scatter_pct / 100.0
    used = Finding(
        code="element-constant",
        severity="caution",
        message=(
            f"{element}, {entry.mode} mode: constant {as_given(entry.constant)}, scatter "
            f"+-{as_given(entry.scatter_pct)} %,"
            f" from memory, {_WORDS[entry.support]}" + (f"; {entry.caveat}" if entry.caveat else "")
        ),
        field=entry.mode,
        value=entry.constant,
        low=entry.constant * (1.0 - share),
        high=entry.constant * (1.0 + share),
        source=entry.publication,
    )
    if entry.holds(opening_angle_deg):
        return (used,)
    return (used, _angle_finding(entry, element, opening_angle_deg))


def own_constant_findings(mode: Mode, constant: float, element: str, opening_angle_deg: float) -> tuple[Finding, ...]:
    """What is doubtful of a constant of the user's own, by the published one of the element.

    constant : the user's [-]
    element  : one of one's own is compared with the smallest constant of any element
    Returns  : where it is the published one of the element, all that is said of that; else a caution, and
               `outside` below the published scatter, where the stress gets smaller
    """
    entry, whose = _compared_constant(mode, element, opening_angle_deg)
    if element != OWN_ELEMENT and abs(constant / entry.constant - 1.0) <= _SAME_CONSTANT:
        return constant_findings(entry, element, opening_angle_deg)
    low = entry.constant * (1.0 - entry.scatter_pct / 100.0)
    below = constant < low * (1.0 - 1e-9)
    text = f"{element}, {mode} mode: own constant {as_given(constant)} {whose} {as_given(entry.constant)}"
    text += f" (scatter +-{as_given(entry.scatter_pct)} %"
    text += (
        "" if entry.holds(opening_angle_deg) else f", for {as_given(entry.low_deg)} to {as_given(entry.high_deg)} deg"
    )
    finding = Finding(
        code="own-constant",
        severity="caution",
        message=f"{text})",
        field=mode,
        value=constant,
        low=low,
        high=None if element == OWN_ELEMENT else entry.constant * (1.0 + entry.scatter_pct / 100.0),
        source=entry.publication,
    )
    if not below:
        return (finding,)
    text = f"{finding.message}: below its scatter, which lowers the stress"
    return (replace(finding, code=BELOW_SCATTER, severity="outside", message=text),)


def _compared_constant(mode: Mode, element: str, opening_angle_deg: float) -> tuple[ElementConstant, str]:
    """The calibration that an own constant is compared with, and how it is called."""
    if element != OWN_ELEMENT:
        return choose_constant(element, mode, opening_angle_deg), "in place of the published"
    known = {name: choose_constant(name, mode, opening_angle_deg) for name in ELEMENTS}
    least = min(known, key=lambda name: known[name].constant)
    return known[least], f"of an element that has no published one; the smallest of any, {least}, is"


def ratio_band(element: str, opening_angle_deg: float, constants: Mapping[str, float]) -> tuple[float, float]:
    """Lowest and highest factor on the biaxiality ratio by the scatter of the element constants.

    constants : by mode, as used; an own one has the published one with its scatter beside it
    Returns   : factors around 1; both 1 for an element of one's own, whose scatter is not known
    >>> low, high = ratio_band("quad4", 135.0, {"opening": 1.38, "tearing": 1.93})
    >>> round(low, 4), round(high, 4)
    (0.8869, 1.1275)
    """
    if element == OWN_ELEMENT:
        return 1.0, 1.0
    spread = {
        mode: _spread(choose_constant(element, mode, opening_angle_deg), constants[mode])
        for mode in MODES
        if mode in constants
    }
    low, high = spread.pop("opening")
    least, most = (pick(end[side] for end in spread.values()) for side, pick in ((0, min), (1, max)))
    return (least / high) ** 2, (most / low) ** 2


def _spread(entry: ElementConstant, used: float) -> tuple[float, float]:
    """Lowest and highest constant over the one used."""
    share = entry.scatter_pct / 100.0
    ends = entry.constant * (1.0 - share), entry.constant * (1.0 + share)
    return min(used, *ends) / used, max(used, *ends) / used


def size_ratio_findings(
    entry: ElementConstant, element: str, opening_angle_deg: float, size_ratio: float
) -> tuple[Finding, ...]:
    """An `outside` finding where the mesh is coarser than the calibration of the mode allows."""
    least = entry.least_size_ratio(opening_angle_deg)
    if size_ratio >= least * (1.0 - 1e-9):
        return ()
    message = (
        f"{element}, {entry.mode} mode at {as_given(opening_angle_deg)} deg: size over mesh size is "
        f"{against(size_ratio, least)},"
        f" at least {as_given(least)} is asked; refine the mesh"
    )
    return (
        Finding(
            code="mesh-too-coarse",
            severity="outside",
            message=message,
            field=entry.mode,
            value=size_ratio,
            low=least,
            source=entry.publication,
        ),
    )


def user_constants(constants: Mapping[str, float | None] | None) -> dict[str, float]:
    """The user's own constants by mode, those that are given.

    constants : opening, sliding, tearing [-]; a mode may be absent or None
    Raises    : InputError for another name or a value not above zero
    """
    given = {name: value for name, value in (constants or {}).items() if value is not None}
    for name, value in given.items():
        if name not in MODES:
            raise InputError(f"constants know {', '.join(MODES)}, not {name!r}", "constants", name)
        with at("constants"):
            positive(name, value)
    return {name: float(value) for name, value in given.items()}


def _entry(row: dict[str, Any]) -> ElementConstant:
    ratios: Sequence[dict[str, Any]] = row["size_ratio"]
    return ElementConstant(
        mode=row["mode"],
        constant=row["value"],
        scatter_pct=row["scatter_pct"],
        low_deg=row["angle_deg"][0],
        high_deg=row["angle_deg"][1],
        size_ratio=tuple((*ratio["angle_deg"], ratio["least"]) for ratio in ratios),
        publication=row["source"],
        support=row["confidence"],
        caveat=row.get("remark", ""),
    )


def _angle_finding(entry: ElementConstant, element: str, opening_angle_deg: float) -> Finding:
    return Finding(
        code="constant-angle-outside",
        severity="outside",
        message=(
            f"{element}, {entry.mode} mode: no constant published for {as_given(opening_angle_deg)} deg; the one for"
            f" {as_given(entry.low_deg)} to {as_given(entry.high_deg)} deg was taken (nearest range, between "
            "two the larger)"
        ),
        field=entry.mode,
        value=opening_angle_deg,
        low=entry.low_deg,
        high=entry.high_deg,
        source=entry.publication,
    )


def _inside(angle_deg: float, low_deg: float, high_deg: float) -> bool:
    return low_deg - _ROUNDING_DEG <= angle_deg <= high_deg + _ROUNDING_DEG
