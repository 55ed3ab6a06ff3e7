"""Numbers printed in the documents of the curves, and the calculations that must give them."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

from fatcore.curves.corrections import survival
from fatcore.curves.deviations import deviations
from fatcore.curves.standards.catalogue import find_curve
from fatcore.verification.case import VerificationCase
from fatcore.verification.curves._lookups import check, range_at, ratio

_EN = "en-1993-1-9-2005"
_IIW = "iiw-2016"
_BS = "bs-7608-1993"
_PSM = "psm-design-bands"


def _en() -> Iterator[VerificationCase]:
    normal, shear = f"{_EN}-normal-100", f"{_EN}-shear-100"
    at_class, at_limit, at_cut = (range_at(normal, n) for n in (2e6, 5e6, 1e8))
    factors = (
        ("limit over class", "0.737", ratio(at_limit, at_class)),
        ("cut-off over limit", "0.549", ratio(at_cut, at_limit)),
        ("cut-off over class, shear", "0.457", ratio(range_at(shear, 1e8), range_at(shear, 2e6))),
    )
    for index, (title, expected, compute) in enumerate(factors, 1):
        yield check(f"en-factor-{index}", title, _EN, "figures 7.1 and 7.2", expected, compute)
    limits = (("71", "52.3", "28.7"), ("100", "73.7", "40.5"), ("36", "26.5", "14.6"))
    for label, at_knee, at_end in limits:
        for cycles, expected in ((5e6, at_knee), (1e8, at_end)):
            title = f"range of category {label} at {cycles:.0e} cycles [MPa]"
            compute = range_at(f"{_EN}-normal-{label}", cycles)
            yield check(f"en-{label}-{cycles:.0e}", title, _EN, "figure 7.1", expected, compute)
    for label, expected in (("80", "36.6"), ("100", "45.7")):
        title = f"cut-off of shear category {label} [MPa]"
        compute = range_at(f"{_EN}-shear-{label}", 1e8)
        yield check(f"en-shear-{label}", title, _EN, "figure 7.2", expected, compute)


def _iiw() -> Iterator[VerificationCase]:
    rows = (
        ("normal-steel-90", 1e7, "52.63"),
        ("normal-steel-100", 1e7, "58.48"),
        ("normal-steel-36", 1e7, "21.05"),
        ("notch-r1-steel-225", 1e7, "131.58"),
        ("shear-steel-100", 1e8, "45.73"),
    )
    for name, cycles, expected in rows:
        title = f"range of {name} at {cycles:.0e} cycles [MPa]"
        yield check(f"iiw-{name}", title, _IIW, "knee points", expected, range_at(f"{_IIW}-{name}", cycles))


def _bs() -> Iterator[VerificationCase]:
    printed = {
        "B": "1.01e15",
        "C": "4.23e13",
        "D": "1.52e12",
        "E": "1.04e12",
        "F": "0.63e12",
        "F2": "0.43e12",
        "G": "0.25e12",
        "W": "0.16e12",
        "S": "2.08e22",
    }
    for label, expected in printed.items():
        cut = label == "S"
        yield check(
            f"bs-{label}",
            f"design constant of class {label}",
            _BS,
            "design constants",
            expected,
            _constant(label),
            tolerance=0.01e22 if cut else None,
            why="2.086e22 follows from mean and deviation: the print is cut, not rounded" if cut else "",
        )


def _constant(label: str) -> Callable[[], float]:
    return lambda: float(10.0 ** find_curve(f"{_BS}-{label.lower()}").log10_constants[0])


def _psm() -> Iterator[VerificationCase]:
    opening, shear = "peak-stress-opening", "peak-stress-shear"
    rows: tuple[tuple[str, str, str, Callable[[], float], float | None, str], ...] = (
        ("opening", "design range at 2e6 cycles, opening [MPa]", "156", range_at(opening, 2e6), None, ""),
        ("shear", "design range at 2e6 cycles, shear [MPa]", "257", range_at(shear, 2e6), None, ""),
        ("opening-mean", "mean range, opening [MPa]", "214", _mean(opening), None, ""),
        ("shear-mean", "mean range, shear [MPa]", "354", _mean(shear), None, ""),
        ("shear-index", "scatter index of the printed pair, shear", "1.90", _index(shear), None, ""),
        (
            "opening-index",
            "scatter index of the printed pair, opening",
            "1.90",
            _index(opening),
            0.02,
            "the printed pair itself gives 1.88",
        ),
    )
    for name, title, expected, compute, tolerance, why in rows:
        yield check(f"psm-{name}", title, _PSM, "bands of steel", expected, compute, tolerance=tolerance, why=why)
    for name, expected, compute in (("2e6", "0.058", _energy(0.977)), ("mean", "0.105", _energy(0.5))):
        title = f"range of energy density at 2e6 cycles, {name} [MJ/m³]"
        yield check(f"energy-{name}", title, "energy-density-band", "band of steel", expected, compute)
    for name, expected, compute in (("life", "4.59e4", _crossing_life), ("range", "753", _crossing_range)):
        title = f"{name} where the two mean lines of the peak stress method cross"
        yield check(f"psm-crossing-{name}", title, "curve-geometry", "mean bands", expected, compute, status="derived")


def _scatter() -> Iterator[VerificationCase]:
    rows: tuple[tuple[str, str, str, Callable[[], float]], ...] = (
        ("sd", "deviation of log10 life, index 1.5 (10 to 90 %), slope 3", "0.2061", _sd_of_index),
        ("index", "index 1.5 (10 to 90 %) restated at two deviations", "1.883", _restated_index),
        ("strength", "mean over 97.7 % strength for index 1.5 (10 to 90 %)", "1.372", _mean_over_design),
        ("width", "deviations between 10 % and 90 %", "2.5631", lambda: 2.0 * deviations(0.9)),
        ("power", "exponent from an index 10 to 90 % to two deviations", "1.5606", _index_power),
    )
    for name, title, expected, compute in rows:
        yield check(f"scatter-{name}", title, "normal-quantile", "definition", expected, compute, status="derived")
    yield check(
        "bs-dnv-d",
        "class D: log10 design constant of BS 7608; DNV-RP-C203 has 12.164 for its own class D",
        _BS,
        "design constants",
        "12.182",
        lambda: find_curve(f"{_BS}-d").log10_constants[0],
    )


def _mean(curve_id: str) -> Callable[[], float]:
    return lambda: find_curve(curve_id).at_survival(0.5).reference_range_mpa()


def _index(curve_id: str) -> Callable[[], float]:
    curve = find_curve(curve_id)
    return lambda: survival.index_of_scatter(curve.scatter(), curve.slopes[0])


def _energy(probability: float) -> Callable[[], float]:
    return lambda: float(find_curve("energy-density").at_survival(probability).energy_density_mj_m3(2e6))


def _crossing_range() -> float:
    opening, shear = (find_curve(name).at_survival(0.5) for name in ("peak-stress-opening", "peak-stress-shear"))
    difference = shear.log10_constants[0] - opening.log10_constants[0]
    return float(10.0 ** (difference / (shear.slopes[0] - opening.slopes[0])))


def _crossing_life() -> float:
    return float(find_curve("peak-stress-opening").at_survival(0.5).life_cycles(_crossing_range()))


def _sd_of_index() -> float:
    return survival.scatter_of_index(1.5, 3.0, upper_survival=0.9)


def _restated_index() -> float:
    return survival.convert_index(1.5, from_survival=0.9, to_survival=0.977)


def _mean_over_design() -> float:
    return math.sqrt(_restated_index())


def _index_power() -> float:
    return math.log(_restated_index()) / math.log(1.5)


CASES: tuple[VerificationCase, ...] = (*_en(), *_iiw(), *_bs(), *_psm(), *_scatter())
