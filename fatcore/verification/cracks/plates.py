"""Checks of cracks through plates, test specimens and tubes."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from fatcore.cracks.intensity.plate import centre, double_edge, edge, specimens
from fatcore.cracks.intensity.solid import tube
from fatcore.verification.case import VerificationCase
from fatcore.verification.cracks._intensity import check, derived

_ISIDA = ("1.0060", "1.0246", "1.0577", "1.1094", "1.1867", "1.3033", "1.4882", "1.8160", "2.5776")
_FEDDERSEN = (0.0028, 0.0028, 0.0028, 0.0028, 0.0028, 0.0028, 0.0028, 0.0095, 0.0195)
# by a/W: free tension, bending, double edge (rational), bending prevented, clamped H = 4 W, twelve terms
_EDGE = {
    0.1: ("1.1957", "1.0408", "1.1219", "1.1584", "1.1662", "1.1631"),
    0.2: ("1.3667", "1.0355", "1.1237", "1.2084", "1.2514", "1.3192"),
    0.3: ("1.6551", "1.0978", "1.1312", "1.2712", "1.3780", "1.5391"),
    0.4: ("2.1080", "1.2345", "1.1491", "1.3518", "1.5388", "1.8148"),
    0.5: ("2.8266", "1.4752", "1.1841", "1.4586", "1.7259", "2.1910"),
    0.6: ("4.0432", "1.8982", "1.2471", "1.6071", "1.9343", "2.6943"),
    0.7: ("6.3755", "2.7163", "1.3598", "1.8294", "2.1707", "3.2705"),
}
_COLUMNS: tuple[tuple[str, Callable[[float], object]], ...] = (
    ("free ends, tension", edge.tension_free),
    ("bending", edge.bending),
    ("double edge, rational form", lambda alpha: double_edge.geometry_factor(alpha, "rational")),
    ("bending prevented", edge.bending_prevented),
    ("clamped, free length of four widths", lambda alpha: edge.clamped(alpha, 4.0)),
    ("clamped, twelve terms", edge.clamped_long),
)


def _centre() -> Iterator[VerificationCase]:
    for step, (expected, secant) in enumerate(zip(_ISIDA, _FEDDERSEN, strict=True), 1):
        alpha = step / 10.0
        for name, function, relative in (
            ("tada", centre.tada, 0.001),
            ("feddersen", centre.feddersen, secant),
        ):
            yield check(
                f"centre-{name}-{alpha}",
                f"F of the centre crack by the {name} form, 2a/W = {alpha}",
                expected,
                _at(function, alpha),
                source="isida-reference",
                where="finite-width correction of the centre crack",
                relative=relative,
                why="the closed forms approximate the reference series: 0.1 %, the plain secant 0.3 % up to "
                "0.7, then up to 2 %",
            )


def _edges() -> Iterator[VerificationCase]:
    for alpha, printed in _EDGE.items():
        for (title, function), expected in zip(_COLUMNS, printed, strict=True):
            name = title.replace(", ", "-").replace(" ", "-")
            text = f"F of the edge crack, {title}, a/W = {alpha}"
            yield derived(f"edge-{name}-{alpha}", text, expected, _at(function, alpha), "closed forms")


def _specimens() -> Iterator[VerificationCase]:
    rows = (
        ("compact", "9.6591", specimens.compact_factor),
        ("bend", "2.6625", specimens.bend_factor),
        ("eccentric", "6.9338", specimens.eccentric_factor),
    )
    for name, expected, function in rows:
        title = f"geometry factor of the {name} specimen, a/W = 0.5"
        yield derived(f"specimen-{name}", title, expected, _at(function, 0.5), "specimen formulas")


def _tubes() -> Iterator[VerificationCase]:
    for ratio, deep, shore in ((0.4, "1.4103", "1.0592"), (1.0, "1.1743", "1.3945")):
        for angle, expected in ((90.0, deep), (0.0, shore)):
            yield derived(
                f"tube-axial-{ratio}-{angle:g}",
                f"F of the axial surface crack, R/t = 10, a/t = 0.5, a/c = {ratio}, {angle:g} deg",
                expected,
                _axial(ratio, angle),
                "equation of the internal axial crack",
            )
    for share, tension, bending in ((0.1, "1.1696", "1.1455"), (0.3, "1.9898", "1.7713")):
        for index, (load, expected) in enumerate((("tension", tension), ("bending", bending))):
            title = f"F of the circumferential crack in {load}, R/t = 10, half angle {share} pi"
            compute = _around(share, index)
            yield derived(f"tube-around-{load}-{share}", title, expected, compute, "circumferential crack")
    title = "F of the axial through crack where both branches meet"
    yield derived("tube-through", title, "1.5", _at(tube.axial_through_factor, 1.0), "axial through crack")


def _at(function: Callable[[float], object], alpha: float) -> Callable[[], float]:
    return lambda: float(function(alpha))  # type: ignore[arg-type]


def _axial(ratio: float, angle: float) -> Callable[[], float]:
    return lambda: float(tube.axial_surface_factor(ratio, 0.5, 10.0, angle))


def _around(share: float, index: int) -> Callable[[], float]:
    return lambda: float(tube.circumferential_factors(share, 10.0)[index])


CASES = (*_centre(), *_edges(), *_specimens(), *_tubes())
