"""Checks of spectral moments, bandwidth measures and the damage of random stress."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

import numpy as np

from fatcore.curves.curve import Curve
from fatcore.spectrum.random import damage as random
from fatcore.spectrum.random.density import Bandwidth, bandwidth
from fatcore.verification.case import VerificationCase
from fatcore.verification.spectrum.damage import class_d_damage

FLAT = ((1.0, 10.0), (100.0, 100.0))  # Hz, MPa^2/Hz
NARROW = ((9.9, 10.1), (5000.0, 5000.0))
MEASURES = {"crossing_rate_per_s": "6.0827625", "peak_rate_per_s": "7.7498038"}
MEASURES |= {"irregularity_first": "0.90419443", "irregularity": "0.78489245", "spectral_width": "0.61963202"}
TERMS = {"xm": "0.70969538", "D1": "0.1158861", "D2": "0.24939798", "D3": "0.63471592", "R": "0.54830814"}
TERMS |= {"Q": "0.14485762"}
RATES = {
    (random.narrow_band, 3): "6.1751259e-7",
    (random.wirsching_light, 3): "5.2080405e-7",
    (random.dirlik, 3): "5.3214841e-7",
    (random.tovo_benasciutti, 3): "5.2674255e-7",
    (random.narrow_band, 5): "2.7788067e-3",
    (random.wirsching_light, 5): "2.1175985e-3",
    (random.dirlik, 5): "2.2910525e-3",
    (random.tovo_benasciutti, 5): "2.1187039e-3",
}
NEAR_NARROW = {
    (random.dirlik, 3): "0.99996668",
    (random.tovo_benasciutti, 3): "0.99994169",
    (random.wirsching_light, 3): "0.9952",
    (random.wirsching_light, 5): "0.98492",
}
SOURCE = {
    random.narrow_band: "narrow-band-1964",
    random.wirsching_light: "wirsching-light-1980",
    random.dirlik: "dirlik-1985",
    random.tovo_benasciutti: "tovo-benasciutti-2005",
}
Method = Callable[[Bandwidth, Curve], float | None]


def amplitude_curve(slope: float, constant: float = 1e12) -> Curve:
    """The curve life = constant * amplitude^-slope, in ranges."""
    log10_constant = math.log10(constant) + slope * math.log10(2.0)
    return Curve(id="own", source="own-curve", log10_constants=(log10_constant,), slopes=(float(slope),))


def _cases() -> Iterator[VerificationCase]:
    """All checks of this file."""
    yield from _measures()
    yield from _rates()
    where = "class D in air, printed constants, rms 20 MPa, 1e7 cycles"
    scale = 2.0 * math.sqrt(2.0) * 20.0
    source = "weibull-range-distribution"
    yield _check("narrow-two-slopes", source, where, "1.58750951", lambda: class_d_damage(scale, 2.0, 1e7))

    def one_slope() -> float:
        return class_d_damage(scale, 2.0, 1e7, one_slope=True)

    yield _check("narrow-one-slope", source, where, "1.64953360", one_slope)


def _check(name: str, source: str, where: str, expected: str, compute: Callable[[], float]) -> VerificationCase:
    return VerificationCase(
        id=f"spectrum-random-{name}",
        title=f"random stress, {name.replace('-', ' ')}",
        source=source,
        where=where,
        status="derived",
        expected=expected,
        compute=compute,
    )


def _measures() -> Iterator[VerificationCase]:
    where = "flat density 100 MPa^2/Hz from 1 to 10 Hz"
    for number, printed in enumerate(("900", "4950", "33300", "1999980")):

        def moment(number: int = number) -> float:
            return bandwidth(*FLAT).moments[number]

        yield _check(f"moment-{(0, 1, 2, 4)[number]}", "random-vibration-moments", where, printed, moment)
    for name, printed in MEASURES.items():

        def measure(name: str = name) -> float:
            return float(getattr(bandwidth(*FLAT), name))

        yield _check(name.replace("_", "-"), "random-vibration-moments", where, printed, measure)
    for name, printed in TERMS.items():

        def term(name: str = name) -> float:
            return float(getattr(random.dirlik_terms(bandwidth(*FLAT)), name))

        yield _check(f"term-{name}", "dirlik-1985", where, printed, term)

    def share() -> float:
        return random.tovo_benasciutti_share(bandwidth(*FLAT)) or 0.0

    yield _check("share-b", "tovo-benasciutti-2005", where, "0.61714966", share)


def _rates() -> Iterator[VerificationCase]:
    for (method, slope), printed in RATES.items():

        def rate(method: Method = method, slope: int = slope) -> float:
            return method(bandwidth(*FLAT), amplitude_curve(slope)) or 0.0

        name = method.__name__.replace("_", "-")
        where = f"flat density 100 MPa^2/Hz from 1 to 10 Hz, amplitude curve 1e12, slope {slope}"
        yield _check(f"{name}-slope-{slope}", SOURCE[method], where, printed, rate)

    def near() -> float:
        return random.narrow_band(bandwidth(*NARROW), amplitude_curve(3))

    narrow = "density 5000 MPa^2/Hz from 9.9 to 10.1 Hz"
    yield _check("near-narrow-slope-3", "narrow-band-1964", narrow, "1.189018e-6", near)
    for (method, slope), printed in NEAR_NARROW.items():

        def ratio(method: Method = method, slope: int = slope) -> float:
            measures, curve = bandwidth(*NARROW), amplitude_curve(slope)
            return (method(measures, curve) or np.nan) / random.narrow_band(measures, curve)

        name = method.__name__.replace("_", "-")
        where = f"{narrow}, over narrow band, slope {slope}"
        yield _check(f"{name}-near-narrow-{slope}", SOURCE[method], where, printed, ratio)


CASES = tuple(_cases())
