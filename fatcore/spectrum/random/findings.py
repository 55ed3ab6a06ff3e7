"""What is doubtful about damage from a spectral density: its formulas, its ends, a short time."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from fatcore import require
from fatcore.curves.curve import Curve
from fatcore.figures import against, as_given, figure
from fatcore.findings import Finding, Limit, caution, note, outside, outside_limits
from fatcore.spectrum.damage.left_out import no_damage_findings
from fatcore.spectrum.damage.long_term import short_ranges
from fatcore.spectrum.random.methods import ByMethod

RANDOM_LIMITS = (
    Limit("irregularity", 0.16, None, "dirlik-1985", "spectra that the formula was fitted to; from memory"),
)
_SLOPE_LIMITS = (Limit("slope", 3.0, 6.0, "wirsching-light-1980", "slopes that the factor was fitted to; from memory"),)
END_SHARE = 0.01  # of the largest density: less at an end counts as fallen to nothing
FEW_CROSSINGS = 1000.0


def random_findings(
    damage_rate_per_s: ByMethod,
    irregularity: float,
    slope: float,
    crossings: float,
    frequency_hz: ArrayLike,
    density_mpa2_per_hz: ArrayLike,
) -> list[Finding]:
    """Findings about the damage of random stress.

    slope : first one of the curve [-]; crossings: expected in the whole time [-]
    """
    fitted = {} if damage_rate_per_s.wirsching_light is None else {"slope": slope}
    return [
        *_method_findings(damage_rate_per_s),
        *outside_limits(RANDOM_LIMITS, irregularity=irregularity),
        *outside_limits(_SLOPE_LIMITS, **fitted),
        *_end_findings(frequency_hz, density_mpa2_per_hz),
        *_few_findings(crossings),
    ]


def expected_largest_range(rms_mpa: float, crossings: float) -> float:
    """Twice the expected largest peak of Gaussian stress [MPa], to the first order.

    rms_mpa   : standard deviation of the stress [MPa]
    crossings : upward crossings of the mean in the whole time [-], > 0; fewer than e count as e
    Returns   : 2 rms sqrt(2 ln(crossings))
    Source    : [random-vibration-moments]

    >>> round(expected_largest_range(10.0, 1e6), 2)
    105.13
    """
    rms, number = require.positive("rms_mpa", rms_mpa), require.positive("crossings", crossings)
    return float(2.0 * rms * np.sqrt(2.0 * np.log(np.maximum(number, np.e))))


def agreement_findings(least_damage: float, most_damage: float, damage_limit: float) -> tuple[Finding, ...]:
    """`outside` where some methods keep to the limit and others do not [-]."""
    if not least_damage <= damage_limit < most_damage:
        return ()
    text = (
        f"the methods give {against(least_damage, damage_limit)} to {against(most_damage, damage_limit)}, on "
        f"both sides of the limit of {as_given(damage_limit)}"
    )
    return (outside("methods-disagree", text, field="damage"),)


def size_findings(
    damage: ByMethod, damage_limit: float, curve: Curve, rms_mpa: float, crossings: float
) -> tuple[Finding, ...]:
    """What a damage that is nearly none, or ranges of short life, say, by the worst of the methods.

    damage    : in the whole time, by method [-]; damage_limit: permissible sum [-]
    crossings : in the whole time [-]; the ranges of short life are those of the narrow band
    """
    largest = max(damage.defined())
    widest = expected_largest_range(rms_mpa, crossings)
    scale = 2.0 * float(np.sqrt(2.0)) * rms_mpa
    return (*no_damage_findings(largest), *short_ranges(curve, scale, 2.0, largest, damage_limit, widest))


def _end_findings(frequency_hz: ArrayLike, density_mpa2_per_hz: ArrayLike) -> list[Finding]:
    """A caution where the density is cut off: what lies beyond its ends is not counted."""
    frequency, density = np.asarray(frequency_hz), np.asarray(density_mpa2_per_hz)
    level = END_SHARE * float(density.max())
    ends = [
        f"{word} frequency {as_given(frequency[at])} Hz"
        for word, at in (("first", 0), ("last", -1))
        if density[at] > level and frequency[at] > 0.0
    ]
    if not ends:
        return []
    return [
        caution(
            "density-cut-off",
            f"the density has not fallen to nothing at its {' and '.join(ends)}: what lies beyond does no damage here",
            field="density_mpa2_per_hz",
        )
    ]


def _few_findings(crossings: float) -> list[Finding]:
    if crossings >= FEW_CROSSINGS:
        return []
    return [
        caution(
            "few-crossings",
            f"{figure(crossings)} crossings are expected in this time: the damage of one record scatters widely "
            "about this mean",
            field="duration_s",
        )
    ]


def _method_findings(damage_rate_per_s: ByMethod) -> list[Finding]:
    found = [
        caution(
            "gaussian-stationary",
            "valid for Gaussian, stationary stress only; shocks and changing work cycles do more damage",
            field="damage",
            source="narrow-band-1964",
        ),
        caution(
            "broad-band-not-safe",
            "broad-band formulas can lie below a rainflow count of the same process, by 5 to 12 % for a flat "
            "density over a decade and by more with two separate peaks; narrow band is the safe one",
            field="damage",
            source="independent-computation",
        ),
    ]
    if damage_rate_per_s.dirlik is None:
        found.append(note("band-too-narrow", "use the narrow-band value", field="damage", source="dirlik-1985"))
    if damage_rate_per_s.wirsching_light is None:
        found.append(
            note(
                "single-slope-only",
                "the Wirsching-Light factor is defined for one slope without cut-off where it is 0 to 1",
                field="damage",
                source="wirsching-light-1980",
            )
        )
    return found
