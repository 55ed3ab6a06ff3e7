"""Checks of the weld-toe magnification and the root gap."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from fatcore.cracks.intensity.weld import root_gap, toe
from fatcore.cracks.intensity.weld._toe_solid import solid
from fatcore.cracks.intensity.weld.toe_detail import detail_magnification
from fatcore.verification.case import VerificationCase
from fatcore.verification.cracks._intensity import derived

_PLANE_DEPTHS = (0.005, 0.01, 0.05, 0.1, 0.2)
_PLANE = (
    ("membrane", 0, 1.0, ("2.636", "2.126", "1.291", "1.172", "1.057")),
    ("membrane", 0, 2.0, ("3.178", "2.564", "1.557", "1.335", "1.157")),
    ("bending", 1, 1.0, ("2.326", "1.876", "1.201", "1.053", "1")),
)
_WELD = {"weld_height_over_thickness": 0.5, "weld_leg_over_thickness": 0.6}
_DETAIL = (
    ("transverse", _WELD, ("2.271", "1.568", "1.337")),
    ("k-butt", _WELD, ("2.350", "1.553", "1.299")),
    (
        "cruciform-fillet",
        {"weld_height_over_thickness": 0.3, "weld_leg_over_thickness": 0.4},
        ("4.892", "3.047", "2.484"),
    ),
    (
        "longitudinal",
        {
            "attachment_over_thickness": 1.0,
            "attachment_length_over_thickness": 10.0,
            "width_over_thickness": 4.0,
            "toe_angle_deg": 45.0,
        },
        ("3.089", "2.002", "1.661"),
    ),
)
_SOLID_DEPTHS = (0.005, 0.02, 0.1, 0.3, 0.5, 0.9)
_SOLID = (
    ("deepest", 0, ("2.300", "1.526", "1.058", "0.943", "0.925", "1.044")),
    ("surface", 1, ("5.07", "3.33", "2.07", "1.56", "1.44", "1.34")),
)
_ROOT = {
    0.2: (".7780", ".8868", "1.0716", "1.4323"),
    0.5: (".7363", ".8012", ".9285", "1.1951"),
    1.0: (".5639", ".5877", ".6529", ".8063"),
    1.2: (".5061", ".5243", ".5790", ".7106"),
}


def _plane() -> Iterator[VerificationCase]:
    for load, index, length, printed in _PLANE:
        for depth, expected in zip(_PLANE_DEPTHS, printed, strict=True):
            title = f"toe magnification, plane form, {load}, L/B = {length}, a/B = {depth}"
            compute = _plane_at(depth, length, index)
            yield derived(f"toe-plane-{load}-{length}-{depth}", title, expected, compute, "plane form")


def _plane_at(depth: float, length: float, index: int) -> Callable[[], float]:
    return lambda: float(toe.plane(depth, length)[index])


def _detail() -> Iterator[VerificationCase]:
    for name, shape, printed in _DETAIL:
        for depth, expected in zip((0.01, 0.05, 0.1), printed, strict=True):
            title = f"toe magnification of the detail {name}, a/T = {depth}"
            compute = _detail_at(name, depth, shape)
            yield derived(f"toe-{name}-{depth}", title, expected, compute, "detail form")


def _detail_at(name: str, depth: float, shape: dict[str, float]) -> Callable[[], float]:
    return lambda: float(detail_magnification(name, depth, **shape))


def _solid() -> Iterator[VerificationCase]:
    for point, index, printed in _SOLID:
        for depth, expected in zip(_SOLID_DEPTHS, printed, strict=True):
            title = f"toe magnification, solid form, {point} point before the floor, a/B = {depth}"
            compute = _solid_at(depth, index)
            yield derived(f"toe-solid-{point}-{depth}", title, expected, compute, "solid form, a/c = 0.5, L/B = 1")


def _solid_at(depth: float, index: int) -> Callable[[], float]:
    return lambda: float(solid(depth, 0.5, 1.0, floor=0.0)[index])


def _root() -> Iterator[VerificationCase]:
    for leg, printed in _ROOT.items():
        for gap, expected in zip((0.1, 0.3, 0.5, 0.7), printed, strict=True):
            title = f"F of the root gap, leg over thickness {leg}, gap over width {gap}"
            yield derived(f"root-{leg}-{gap}", title, expected, _root_at(gap, leg), "root gap of fillet welds")


def _root_at(gap: float, leg: float) -> Callable[[], float]:
    return lambda: float(root_gap.geometry_factor(gap, leg))


CASES = (*_plane(), *_detail(), *_solid(), *_root())
