"""Checks of growth laws, closure, mixed loading, and of the compliance of a crack."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from fatcore.cracks.configurations.configuration import initial_compliance
from fatcore.cracks.configurations.sharing import Sharing, share_load
from fatcore.cracks.configurations.straight import EdgeCrack
from fatcore.cracks.driving import closure, law, law_sets, mixed_mode
from fatcore.cracks.scatter.random_variables import Distribution, published_variables
from fatcore.sources import Status
from fatcore.verification.case import VerificationCase

_COMPUTED = "growth-computation"
KSI_SQRT_IN = 6.894757293168361 * np.sqrt(0.0254)


def clamped_compliance(alpha: float, length_over_width: float) -> float:
    """Compliance times E' B of an edge-cracked plate between ends that move but do not turn [-].

    Source : [shared-load-derivation]
    """
    modulus, width = 206000.0, 20.0
    crack = EdgeCrack(depth_mm=alpha * width, width_mm=width, thickness_mm=1.0, form="handbook")
    around = Sharing(length_mm=length_over_width * width, youngs_modulus_mpa=modulus, grips="rigid", plane="stress")
    added = initial_compliance(crack, *crack.start())[:, None]
    state = share_load(around, crack.section, added, 1.0, 0.0)
    # at constant force the potential is minus half the force times the extension
    return float(-2.0 * state.potential_nmm[0] / crack.section.area_mm2**2 * modulus)


def _check(
    name: str,
    title: str,
    expected: str,
    value: object,
    *,
    source: str = _COMPUTED,
    where: str,
    status: Status = "derived",
    tolerance: float | None = None,
    why: str = "",
) -> VerificationCase:
    compute = value if callable(value) else lambda: float(np.asarray(value))
    return VerificationCase(
        id=name,
        title=title,
        source=source,
        where=where,
        status=status,
        expected=expected,
        compute=compute,
        tolerance=tolerance,
        why=why,
    )


def _units() -> Iterator[VerificationCase]:
    where = "conversion of units"
    yield _check("unit-ksi", "1 ksi√in in MPa√m", "1.0988434941", KSI_SQRT_IN, where=where)
    m3 = law.convert_coefficient(1.0, 3.0, "m-MPa")
    title = "coefficient per coefficient in m, exponent 3"
    yield _check("unit-m3", title, "0.0316227766", m3, where=where)
    for name, stage, expected in (
        ("bs7910-2013/air-mean", 0, "2.1441e-13"),
        ("bs7910-2013/air-mean", 1, "1.2243e-11"),
        ("bs7910-2013/air-upper", 0, "9.3804e-13"),
        ("bs7910-2013/air-upper", 1, "2.6952e-11"),
    ):
        one = law_sets.named_law(name).high[stage]
        back = float(np.asarray(one.coefficient)) * 1e-3 * 1000.0 ** (one.exponent / 2.0)
        title = f"{name}, stage {stage + 1}, high load ratio, in m/cycle and MPa√m"
        yield _check(f"unit-{name}-{stage + 1}".replace("/", "-"), title, expected, back, where=where)
    simple = law_sets.named_law("bs7910-2013/air-simplified").low[0]
    back = float(np.asarray(simple.coefficient)) * 1e-3 * 1000.0**1.5
    yield _check("unit-simplified", "one-stage law in m/cycle and MPa√m", "1.6475e-11", back, where=where)


def _transitions() -> Iterator[VerificationCase]:
    rows = (
        ("air-mean", "low", "363", "363.13"),
        ("air-upper", "low", "315", "314.87"),
        ("air-mean", "high", "196", "195.56"),
        ("air-upper", "high", "144", "143.52"),
    )
    for name, regime, printed, computed in rows:
        stages = getattr(law_sets.named_law(f"bs7910-2013/{name}"), regime)
        border = law.transition_mpa_sqrt_mm(stages)
        title = f"transition range, {name}, {regime} load ratio [MPa√mm]"
        base = f"transition-{name}-{regime}"
        details = {"source": "bs-7910-2013", "where": "table of constants", "status": "from memory"}
        yield _check(f"{base}-printed", title, printed, border, **details)  # type: ignore[arg-type]
        yield _check(f"{base}-computed", title, computed, border, where="intersection of the two stages")


def _thresholds() -> Iterator[VerificationCase]:
    rows = (
        ("bs7910-2013/steel", 0.5, "63", "bs-7910-2013"),
        ("bs7910-2013/steel", -1.0, "170", "bs-7910-2013"),
        ("iiw-2008/steel", 0.0, "190", "iiw-1823-07"),
        ("iiw-2008/steel", 0.9, "62", "iiw-1823-07"),
        ("iiw-2016/steel", 0.0, "170", "iiw-2259-15-growth"),
        ("iiw-2016/aluminium", 0.0, "63", "iiw-2259-15-growth"),
    )
    for name, ratio, expected, source in rows:
        value = law_sets.named_threshold(name).range_mpa_sqrt_mm(ratio)
        title = f"threshold range at load ratio {ratio:g}, {name} [MPa√mm]"
        identity = f"threshold-{name}-{ratio:g}".replace("/", "-")
        yield _check(identity, title, expected, value, source=source, where="thresholds", status="from memory")


def _closure() -> Iterator[VerificationCase]:
    table = {
        1.0: (".3735", ".4767", ".6262"),
        2.0: (".2438", ".3257", ".5481"),
        3.0: (".1848", ".2454", ".5053"),
    }
    for constraint, row in table.items():
        for ratio, expected in zip((-1.0, 0.0, 0.5), row, strict=True):
            value = closure.newman_closure(ratio, constraint, 0.3)
            title = f"opening level, constraint {constraint:g}, load ratio {ratio:g}"
            yield _check(f"closure-{constraint:g}-{ratio:g}", title, expected, value, where="closure function")


def _mixed() -> Iterator[VerificationCase]:
    k = mixed_mode.effective_intensity
    rows = (
        ("kink-1-1", "kink angle at equal modes [deg]", "-53.130", mixed_mode.kink_angle_deg(1.0, 1.0)),
        ("kink-0-1", "kink angle in pure sliding [deg]", "-70.5288", mixed_mode.kink_angle_deg(0.0, 1.0)),
        (
            "tangential-1-1",
            "largest tangential stress, equal modes",
            "1.7889",
            mixed_mode.tangential_stress_intensity(1.0, 1.0),
        ),
        (
            "tangential-0-1",
            "largest tangential stress, pure sliding",
            "1.154701",
            mixed_mode.tangential_stress_intensity(0.0, 1.0),
        ),
        ("tanaka-1-1", "fourth-power form, equal modes", "1.7321", k(1.0, 1.0, criterion="tanaka")),
        ("tanaka-0-1", "fourth-power form, pure sliding", "1.681793", k(0.0, 1.0, criterion="tanaka")),
        (
            "tanaka-tearing",
            "fourth-power form, pure tearing",
            "1.838645",
            k(0.0, 0.0, 1.0, criterion="tanaka"),
        ),
        ("energy-1-1", "energy form, equal modes", "1.4142", k(1.0, 1.0, criterion="energy")),
        ("energy-tearing", "energy form, pure tearing", "1.195229", k(0.0, 0.0, 1.0, criterion="energy")),
        ("richard-1-1", "sum form, equal modes", "1.7586", k(1.0, 1.0, criterion="richard")),
        (
            "richard-kink-1-1",
            "kink angle of the fit [deg]",
            "-52.500",
            mixed_mode.richard_kink_angle_deg(1.0, 1.0),
        ),
        (
            "richard-kink-0-1",
            "kink angle of the fit [deg]",
            "-70.000",
            mixed_mode.richard_kink_angle_deg(0.0, 1.0),
        ),
    )
    for name, title, expected, value in rows:
        yield _check(f"mixed-{name}", title, expected, value, where="closed form")


def _compliance() -> Iterator[VerificationCase]:
    def slope() -> float:
        step = 1e-3  # fourth-order central difference
        c = [clamped_compliance(0.4 + i * step, 4.0) for i in (-2, -1, 1, 2)]
        return (c[0] - 8.0 * c[1] + 8.0 * c[2] - c[3]) / (12.0 * step)

    title = "slope of the compliance of a clamped edge-cracked plate, a/W = 0.4, H/W = 4"
    yield _check("compliance-clamped-slope", title, "5.951532", slope, where="2 pi alpha F^2")


def _statistics() -> Iterator[VerificationCase]:
    mean = 5.86e-13
    last = published_variables("jcss-part3")["last_coefficient_factor"]
    deviation = last.logarithmic_deviation
    where = "constant of the second stage as a mean"
    yield _check("scatter-deviation", "standard deviation of the logarithm", ".5545", deviation, where=where)
    yield _check("scatter-median", "median of the constant", "5.025e-13", mean * last.middle, where=where)
    two_sd = mean * last.middle * np.exp(2.0 * deviation)
    yield _check("scatter-two-sd", "constant two deviations up", "1.523e-12", two_sd, where=where)
    dnv = law_sets.named_law("dnv-rp-c210/air-median")
    coefficient = np.asarray(dnv.low[0].coefficient)
    yield _check("dnv-coefficient", "median constant from ln C", "1.098e-13", coefficient, where="exp(-29.84)")
    rate = dnv.rate_mm_per_cycle(500.0)
    yield _check("dnv-rate-500", "rate at 500 MPa√mm [mm/cycle]", "2.56e-5", rate, where="one-stage law")
    bs = law_sets.named_law("bs7910-2013/air-mean").rate_mm_per_cycle(500.0, 0.0)
    yield _check("bs-rate-500", "rate at 500 MPa√mm [mm/cycle]", "2.36e-5", bs, where="second stage")
    factor = Distribution(kind="lognormal", median=5.86e-13, log_deviation=0.394)
    upper = factor.middle * np.exp(2.0 * factor.logarithmic_deviation)
    title = "constant two deviations up when the printed value is the median"
    yield _check("scatter-bs-two-sd", title, "1.29e-12", upper, where="constants of BS 7910")


CASES = (
    *_units(),
    *_transitions(),
    *_thresholds(),
    *_closure(),
    *_mixed(),
    *_compliance(),
    *_statistics(),
)
