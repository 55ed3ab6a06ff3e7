"""Damage of Gaussian, stationary random stress from its spectral density: narrow band and broad band.

Each method is a mixture of Weibull distributed ranges with a rate, so that every one of them takes curves
with knees and cut-offs; only the Wirsching-Light factor is defined for a single slope.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fatcore import tables
from fatcore.bounds import NonNegativeColumn, NumberColumn, Positive, guarded
from fatcore.curves.curve import Curve
from fatcore.curves.limits.damage_limits import DamageLimit, as_damage_limit
from fatcore.errors import InputError
from fatcore.outcome import Outcome, evidence
from fatcore.require import FloatArray
from fatcore.spectrum.damage.linear import equivalent_range
from fatcore.spectrum.damage.weibull import expected_damage
from fatcore.spectrum.random.density import Bandwidth, bandwidth, crossing_rate
from fatcore.spectrum.random.findings import expected_largest_range, random_findings, size_findings
from fatcore.spectrum.random.methods import ByMethod

RANDOM_TABLE = "spectrum/random_stress"

_NARROW = 1e-9  # distance of the irregularity from 1 below which the broad-band formulas have no meaning


@dataclass(frozen=True, slots=True, kw_only=True)
class DirlikTerms:
    """Weights and scales of the three parts of the Dirlik distribution of amplitude over rms [-]."""

    xm: float
    D1: float
    D2: float
    D3: float
    R: float
    Q: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RandomDamage(Outcome):
    """Damage of random stress by several methods.

    damage               : in the duration [-]
    damage_limit         : permissible sum [-], with which the damage of a method is to be compared
    equivalent_range_mpa : constant range of the same damage at the upward crossings of the mean [MPa]
    largest_range_mpa    : expected in the duration, see `expected_largest_range` [MPa]
    crossing_rates_per_s : expected upward crossings of the levels [1/s], None without levels
    """

    bandwidth: Bandwidth
    damage: ByMethod
    damage_limit: float
    damage_rate_per_s: ByMethod
    equivalent_range_mpa: ByMethod
    largest_range_mpa: float
    crossing_rates_per_s: FloatArray | None
    duration_s: float


def narrow_band(measures: Bandwidth, curve: Curve) -> float:
    """Damage rate of Rayleigh distributed amplitudes at the rate of mean crossings [1/s].

    Source : [narrow-band-1964]; on curves with knees by incomplete gamma functions
    """
    return measures.crossing_rate_per_s * _rayleigh(measures, curve, 1.0)


def wirsching_light(measures: Bandwidth, curve: Curve) -> float | None:
    """Narrow-band damage rate times a factor of slope and spectral width [1/s].

    None with several slopes or a cut-off, and where the fitted factor leaves 0 to 1.

    Source : [wirsching-light-1980]
    """
    if len(curve.slopes) > 1 or curve.cut_off_mpa is not None or measures.spectral_width == 1.0:
        return None
    fit = tables.load(RANDOM_TABLE)["wirsching_light"]
    m = curve.slopes[0]
    a = fit["a_constant"] + fit["a_slope"] * m
    b = fit["b_slope"] * m + fit["b_constant"]
    factor = float(a + (1.0 - a) * (1.0 - measures.spectral_width) ** b)
    return narrow_band(measures, curve) * factor if 0.0 < factor <= 1.0 else None


def dirlik_terms(measures: Bandwidth) -> DirlikTerms | None:
    """Terms of the Dirlik distribution; None when the band is too narrow for them.

    Source : [dirlik-1985]
    """
    a2, (m0, m1, m2, m4) = measures.irregularity, measures.moments
    if a2 > 1.0 - _NARROW:
        return None
    scale = tables.load(RANDOM_TABLE)["dirlik"]["q_factor"]
    xm = m1 / m0 * float(np.sqrt(m2 / m4))
    D1 = 2.0 * (xm - a2**2) / (1.0 + a2**2)
    R = (a2 - xm - D1**2) / (1.0 - a2 - D1 + D1**2)
    D2 = (1.0 - a2 - D1 + D1**2) / (1.0 - R)
    D3 = 1.0 - D1 - D2
    Q = scale * (a2 - D3 - D2 * R) / D1
    return DirlikTerms(xm=xm, D1=D1, D2=D2, D3=D3, R=R, Q=Q) if Q > 0.0 and R != 0.0 else None


def dirlik(measures: Bandwidth, curve: Curve) -> float | None:
    """Damage rate by the Dirlik distribution of rainflow amplitudes [1/s]; None when the band is too narrow.

    Source : [dirlik-1985]
    """
    terms = dirlik_terms(measures)
    if terms is None:
        return None
    exponential = float(expected_damage(curve, 2.0 * measures.rms_mpa * terms.Q, 1.0))
    mean = (
        terms.D1 * exponential
        + terms.D2 * _rayleigh(measures, curve, abs(terms.R))
        + terms.D3 * _rayleigh(measures, curve, 1.0)
    )
    return measures.peak_rate_per_s * mean


def tovo_benasciutti_share(measures: Bandwidth) -> float | None:
    """Share of the narrow-band damage in the Tovo-Benasciutti estimate [-]; None when the band is too narrow.

    Source : [tovo-benasciutti-2005]
    """
    fit = tables.load(RANDOM_TABLE)["tovo_benasciutti"]
    a1, a2 = measures.irregularity_first, measures.irregularity
    if a2 > 1.0 - _NARROW:
        return None
    gap = a1 - a2
    inner = fit["factor"] * (1.0 + a1 * a2 - (a1 + a2)) * float(np.exp(fit["exponent"] * a2)) + gap
    return float(gap * inner / (a2 - 1.0) ** 2)


def tovo_benasciutti(measures: Bandwidth, curve: Curve) -> float | None:
    """Damage rate between the narrow-band and the range-count value [1/s]; None when the band is too narrow.

    Source : [tovo-benasciutti-2005]; the range count is Rayleigh, reduced by the irregularity, at the peak
             rate
    """
    share = tovo_benasciutti_share(measures)
    if share is None:
        return None
    counted = measures.peak_rate_per_s * _rayleigh(measures, curve, measures.irregularity)
    return share * narrow_band(measures, curve) + (1.0 - share) * counted


def any_curve_rates(measures: Bandwidth, curve: Curve) -> list[float]:
    """Damage rates by the methods that hold on any curve, for one spectrum always the same ones [1/s].

    Source : that of each method
    """
    rates = (narrow_band(measures, curve), dirlik(measures, curve), tovo_benasciutti(measures, curve))
    return [rate for rate in rates if rate is not None]


@guarded
def random_damage(
    frequency_hz: NonNegativeColumn,
    density_mpa2_per_hz: NonNegativeColumn,
    curve: Curve,
    duration_s: Positive,
    *,
    damage_limit: DamageLimit | float | None = None,
    levels_mpa: NumberColumn | None = None,
) -> RandomDamage:
    """Damage of a Gaussian, stationary random stress by all methods.

    frequency_hz, density_mpa2_per_hz : one-sided, linear between its points
    curve        : design curve, any number of slopes
    damage_limit : permissible sum [-], None is that of the curve's document
    levels_mpa   : whose crossings are expected, above or below the mean [MPa]
    Raises       : InputError, see `density.spectral_moment`
    Source       : [narrow-band-1964], [wirsching-light-1980], [dirlik-1985], [tovo-benasciutti-2005]
    """
    measures = bandwidth(frequency_hz, density_mpa2_per_hz)
    limited = as_damage_limit(damage_limit, curve)
    rates = ByMethod(
        narrow_band=narrow_band(measures, curve),
        wirsching_light=wirsching_light(measures, curve),
        dirlik=dirlik(measures, curve),
        tovo_benasciutti=tovo_benasciutti(measures, curve),
    )
    damage = rates.changed(lambda rate: rate * duration_s)
    if not np.isfinite(damage.defined()).all():
        raise InputError("the damage is beyond all numbers: check the unit of the density", "density_mpa2_per_hz")
    crossings = measures.crossing_rate_per_s * duration_s
    return RandomDamage(
        bandwidth=measures,
        damage=damage,
        damage_limit=limited.damage_limit,
        damage_rate_per_s=rates,
        equivalent_range_mpa=damage.changed(lambda value: float(equivalent_range(value, crossings, curve))),
        largest_range_mpa=expected_largest_range(measures.rms_mpa, crossings),
        crossing_rates_per_s=None if levels_mpa is None else crossing_rate(measures, levels_mpa),
        duration_s=duration_s,
        **evidence(
            measures,
            limited,
            findings=(
                *random_findings(
                    rates,
                    measures.irregularity,
                    curve.slopes[0],
                    crossings,
                    frequency_hz,
                    density_mpa2_per_hz,
                ),
                *size_findings(damage, limited.damage_limit, curve, measures.rms_mpa, crossings),
            ),
            sources=(*_SOURCES, "palmgren-miner", curve.source),
            tables=(RANDOM_TABLE, *((curve.table,) if curve.table else ())),
        ),
    )


_SOURCES = ("narrow-band-1964", "wirsching-light-1980", "dirlik-1985", "tovo-benasciutti-2005")


def _rayleigh(measures: Bandwidth, curve: Curve, share: float) -> float:
    """Mean damage of a cycle with Rayleigh amplitudes of `share` times the rms."""
    return float(expected_damage(curve, 2.0 * np.sqrt(2.0) * measures.rms_mpa * share, 2.0))
