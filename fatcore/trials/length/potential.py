"""Crack sizes from potentials of a constant current, and back."""

from __future__ import annotations

from typing import Annotated

import numpy as np
from annotated_types import doc
from numpy.typing import ArrayLike

from fatcore.bounds import Number, NumberArray, Positive, PositiveArray, guarded
from fatcore.errors import InputError
from fatcore.figures import as_given, figure
from fatcore.findings import Finding, caution, outside
from fatcore.outcome import evidence
from fatcore.require import FloatArray
from fatcore.trials.length.form import TABLE, PotentialForm
from fatcore.trials.length.reading import CrackLengthOutcome, readings_of, size_findings


@guarded
def lengths_from_potential(
    form: PotentialForm,
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
    Raises                : InputError for columns of unequal length and corrections of which a part is missing
    Source                : [johnson-1965], [hicks-pickard-1982]
    """
    corrected = np.asarray(potential_v, dtype=np.float64)
    readings_of(potential_v=corrected, reference_probe_v=reference_probe_v, temperature_celsius=temperature_celsius)
    heat = (temperature_celsius, reference_temperature_celsius, temperature_coefficient_per_k)
    with np.errstate(over="ignore", invalid="ignore"):
        drift = _probe(corrected, reference_probe_v, reference_probe_at_reference_v) * _heat(corrected, *heat)
        ratio = corrected / drift / reference_potential_v
        size = form.size_mm(ratio)
    sized = np.isfinite(ratio) & np.isfinite(size)
    if not sized.all():
        place = int(np.argmin(sized))
        raise InputError("the form gives no size for this ratio of potentials", "potential_v", place)
    sure = reference_probe_v is not None or temperature_celsius is not None
    return CrackLengthOutcome(
        size_mm=size,
        reading=ratio,
        **evidence(
            findings=[*_limit_findings(form, ratio), *size_findings(size), *([] if sure else [_drift_note()])],
            sources=[form.source],
            tables=[TABLE] if form.specimen == "compact" and form.size_coefficients is None else [],
        ),
    )


@guarded
def potentials_of_lengths(form: PotentialForm, size_mm: PositiveArray) -> CrackLengthOutcome:
    """Ratios of potentials at crack sizes, the inverse of `lengths_from_potential`.

    Raises : InputError for a crack as long as the specimen, NotCoveredError for a polynomial of one's own
    Source : [johnson-1965], [hicks-pickard-1982]
    """
    size = np.asarray(size_mm, dtype=np.float64)
    readings_of(size_mm=size)
    if (size >= form.largest_mm).any():
        raise InputError(f"the crack is as long as the specimen, {as_given(form.largest_mm)} mm", "size_mm")
    ratio = form.ratio(size)
    return CrackLengthOutcome(
        size_mm=size,
        reading=ratio,
        **evidence(
            findings=_limit_findings(form, ratio),
            sources=[form.source],
            tables=[TABLE] if form.specimen == "compact" else [],
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
