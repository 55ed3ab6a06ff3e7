"""Crack sizes from potentials of a constant current, and back."""

from __future__ import annotations

from typing import Annotated

import numpy as np
from annotated_types import doc
from numpy.typing import ArrayLike

from fatcore.bounds import Number, NumberArray, Positive, PositiveArray, guarded
from fatcore.errors import InputError, at
from fatcore.figures import as_given, figure
from fatcore.findings import Finding, caution, outside
from fatcore.outcome import evidence
from fatcore.require import FloatArray
from fatcore.trials.length.form import TABLE, PotentialForm
from fatcore.trials.length.reading import CrackLengthOutcome, guard_sizes, readings_of, size_findings

_FORM = "how the potential of the specimen depends on its crack"
_FAR_K, _HOT_CELSIUS = 100.0, 150.0  # from the reference, and of a specimen in a test [own choice]
_LARGE_COEFFICIENT = 0.02  # 1/K; metals have 0.001 to 0.007 [common practice]


@guarded
def lengths_from_potential(
    form: Annotated[PotentialForm, doc(_FORM)],
    potential_v: PositiveArray,
    reference_potential_v: Positive,
    *,
    reference_probe_v: Annotated[PositiveArray | None, doc("of a probe away from the crack, at the same times")] = None,
    reference_probe_at_reference_v: Annotated[
        Positive | None, doc("of that probe with the reference potential")
    ] = None,
    temperature_celsius: Annotated[NumberArray | None, doc("of the specimen at each reading")] = None,
    reference_temperature_celsius: Annotated[Number | None, doc("with the reference potential")] = None,
    temperature_coefficient_per_k: Annotated[Positive | None, doc("relative rise of resistance a kelvin")] = None,
) -> CrackLengthOutcome:
    """Crack sizes from potentials of a constant current.

    reference_potential_v : where the ratio is 1: at reference_mm, at a/W = 0.241 of the compact form
    Raises                : InputError for columns of unequal length, corrections of which a part is missing, probe and
                            temperatures together, a reading to which no size within the specimen belongs
    Source                : [johnson-1965], [hicks-pickard-1982]
    """
    corrected = np.asarray(potential_v, dtype=np.float64)
    readings_of(potential_v=corrected, reference_probe_v=reference_probe_v, temperature_celsius=temperature_celsius)
    if reference_probe_v is not None and temperature_celsius is not None:
        text = "a reference probe and temperatures take out the same heating twice: give one of them"
        raise InputError(text, "temperature_celsius")
    heat = (temperature_celsius, reference_temperature_celsius, temperature_coefficient_per_k)
    with np.errstate(over="ignore", invalid="ignore"):
        drift = _probe(corrected, reference_probe_v, reference_probe_at_reference_v) * _heat(corrected, *heat)
        ratio = corrected / drift / reference_potential_v
        size = form.size_mm(ratio)
    guard_sizes(np.where(np.isfinite(ratio), size, np.nan), form.largest_mm, "potential_v")
    sure = reference_probe_v is not None or temperature_celsius is not None
    return CrackLengthOutcome(
        size_mm=size,
        reading=ratio,
        **evidence(
            findings=[
                *_limit_findings(form, ratio),
                *size_findings(size, form.largest_mm),
                *_heat_findings(*heat),
                *([] if sure else [_drift_note()]),
            ],
            sources=[form.source],
            tables=[TABLE] if form.specimen == "compact" and form.size_coefficients is None else [],
        ),
    )


@guarded
def potentials_of_lengths(form: Annotated[PotentialForm, doc(_FORM)], size_mm: PositiveArray) -> CrackLengthOutcome:
    """Ratios of potentials at crack sizes, the inverse of `lengths_from_potential`.

    Raises : InputError for a crack as long as the specimen, for a size that a polynomial of one's own does not reach
    Source : [johnson-1965], [hicks-pickard-1982]
    """
    size = np.asarray(size_mm, dtype=np.float64)
    readings_of(size_mm=size)
    if (size >= form.largest_mm).any():
        raise InputError(f"the crack is as long as the specimen, {as_given(form.largest_mm)} mm", "size_mm")
    with at("size_mm"):
        ratio = form.ratio(size)
    return CrackLengthOutcome(
        size_mm=size,
        reading=ratio,
        **evidence(
            findings=_limit_findings(form, ratio),
            sources=[form.source],
            tables=[TABLE] if form.specimen == "compact" and form.size_coefficients is None else [],
        ),
    )


def _probe(potential: FloatArray, probe: ArrayLike | None, at_reference: float | None) -> FloatArray:
    """How far the current, or all of the specimen, has drifted by a probe away from the crack."""
    if (probe is None) != (at_reference is None):
        missing = "reference_probe_v" if probe is None else "reference_probe_at_reference_v"
        raise InputError("a reference probe needs its readings and the one with the reference potential", missing)
    if probe is None or at_reference is None:
        return np.ones_like(potential)
    return np.asarray(probe, dtype=np.float64) / at_reference


def _heat(
    potential: FloatArray, temperature: ArrayLike | None, reference: float | None, coefficient: float | None
) -> FloatArray:
    given = {
        "temperature_celsius": temperature,
        "reference_temperature_celsius": reference,
        "temperature_coefficient_per_k": coefficient,
    }
    missing = [name for name, value in given.items() if value is None]
    if len(missing) not in (0, len(given)):
        raise InputError("a correction of temperature needs readings, reference and coefficient", missing[0])
    if temperature is None or reference is None or coefficient is None:
        return np.ones_like(potential)
    factor = 1.0 + coefficient * (np.asarray(temperature, dtype=np.float64) - reference)
    if (factor <= 0.0).any():
        raise InputError("the correction of temperature turns the potential round", "temperature_coefficient_per_k")
    return np.asarray(factor)


def _heat_findings(temperature: ArrayLike | None, reference: float | None, coefficient: float | None) -> list[Finding]:
    if temperature is None or reference is None or coefficient is None:
        return []
    given, found = np.asarray(temperature, dtype=np.float64), []
    furthest = float(np.abs(given - reference).max())
    if furthest > _FAR_K or (float(given.max()) > _HOT_CELSIUS and reference < _FAR_K):
        text = (
            f"temperatures lie up to {figure(furthest)} K from the reference of {as_given(reference)} degrees Celsius:"
            " kelvin, or degrees Fahrenheit?"
        )
        found.append(caution("temperatures-unlikely", text, field="temperature_celsius"))
    if coefficient > _LARGE_COEFFICIENT:
        text = f"a coefficient of {as_given(coefficient)} a kelvin: metals have some thousandths; percent?"
        found.append(caution("temperature-coefficient-unlikely", text, field="temperature_coefficient_per_k"))
    return found


def _drift_note() -> Finding:
    text = "neither a reference probe nor temperatures: drift of current or temperature counts as growth"
    return caution("potential-not-corrected", text, field="potential_v")


def _limit_findings(form: PotentialForm, ratio: FloatArray) -> list[Finding]:
    low, high = form.limits()
    left = (ratio < low * (1.0 - 1e-6)) | (ratio > high * (1.0 + 1e-6))
    if not left.any():
        return []
    text = (
        f"{int(left.sum())} reading(s) of the ratio of potentials leave {figure(low)} to {figure(high)}, "
        f"where the form holds"
    )
    if form.closed and (ratio < low).any():
        text += "; less than the ratio of an uncracked specimen is given as size 0"
    return [outside("potential-out-of-range", text, field="potential_v", source=form.source)]
