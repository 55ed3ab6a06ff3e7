"""Thickness: thicker plates than the reference bear less; each document has its own exponents."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from fatcore.bounds import Exponent, Positive, PositiveColumn, guarded
from fatcore.curves.corrections.correction import Correction, show_correction
from fatcore.curves.segments import common_shape
from fatcore.curves.standards import documents
from fatcore.curves.standards.catalogue import describe_curve
from fatcore.errors import InputError, NotCoveredError, UnknownError
from fatcore.figures import as_given
from fatcore.findings import Finding
from fatcore.plausible import length_doubts
from fatcore.require import FloatArray


@guarded
def thickness_factor(thickness_mm: PositiveColumn, reference_mm: Positive, exponent: Exponent) -> FloatArray:
    """Strength factor for plates thicker than the reference.

    thickness_mm : (effective) plate thickness, scalar or array
    reference_mm : thickness up to which the class holds
    exponent     : of the detail
    Returns      : (reference/thickness)^exponent above the reference, else 1 [-], same shape
    Source       : [iiw-2016], [en-1993-1-9-2005], [bs-7608-1993], [dnv-rp-c203-2016]

    >>> float(thickness_factor(50.0, 25.0, 0.25).round(4))
    0.8409
    """
    return _factor(np.asarray(thickness_mm, dtype=np.float64), reference_mm, exponent)


@guarded
def effective_thickness_mm(thickness_mm: PositiveColumn, toe_distance_mm: PositiveColumn) -> FloatArray:
    """Thickness that counts for a short attachment: half its toe-to-toe length when below twice the plate.

    Returns : effective thickness [mm], broadcast shape
    Source  : [iiw-2016]

    >>> float(effective_thickness_mm(40.0, 60.0)), float(effective_thickness_mm(40.0, 90.0))
    (30.0, 40.0)
    """
    plate, length = (np.asarray(each, dtype=np.float64) for each in (thickness_mm, toe_distance_mm))
    common_shape(thickness_mm=plate, toe_distance_mm=length)
    return np.minimum(plate, 0.5 * length)


def details(document: str) -> tuple[str, ...]:
    """The details with a thickness exponent in a document; NotCoveredError when it gives none by name."""
    return tuple(_exponents(document))


@guarded
def thickness(
    thickness_mm: PositiveColumn,
    *,
    document: str,
    detail: str,
    toe_distance_mm: PositiveColumn | None = None,
    reference_mm: Positive | None = None,
) -> Correction:
    """The thickness correction of a document for a named detail.

    document        : 'iiw-2016', 'en-1993-1-9-2005', 'bs-7608-1993', 'iacs-csr-2019'
    detail          : one of `details(document)`
    toe_distance_mm : length from toe to toe, only where the document counts it for the detail (IIW:
                      cruciform and T joints, transverse attachments); a relief by it is a caution
    reference_mm    : only where the document's own is not in its table
    Raises          : InputError, UnknownError for the detail, NotCoveredError where there is no such rule
    """
    section, exponents = documents.rule(document, "thickness"), _exponents(document)
    if detail not in exponents:
        raise UnknownError("detail", detail, exponents, "detail")
    plate = counted = np.asarray(thickness_mm, dtype=np.float64)
    if toe_distance_mm is not None:
        if detail not in section.get("toe_distance_details", ()):
            text = f"{document} does not count the toe distance for {detail}"
            raise NotCoveredError(text, "toe_distance_mm")
        counted = effective_thickness_mm(plate, toe_distance_mm)
    reference = _reference(document, section.get("reference_mm"), reference_mm)
    doubts, what = length_doubts(toe_distance_mm, "toe_distance_mm"), f"detail {detail}"
    return _report(document, plate, counted, reference, exponents[detail], what, doubts)


@guarded
def class_thickness(thickness_mm: PositiveColumn, curve_id: str) -> Correction:
    """The thickness correction of a curve whose document ties the exponent to the class.

    Raises : UnknownError for the curve, NotCoveredError where the document gives no exponent for its class
    """
    description = describe_curve(curve_id)
    exponent, reference = description.thickness_exponent, description.thickness_reference_mm
    if exponent is None or reference is None:
        raise NotCoveredError(f"no thickness exponent goes with the class of {curve_id!r}")
    plate = np.asarray(thickness_mm, dtype=np.float64)
    return _report(description.curve.source, plate, plate, reference, exponent, f"class {description.label}")


def _factor(plate: FloatArray, reference: float, exponent: float) -> FloatArray:
    return np.asarray((reference / np.maximum(plate, reference)) ** exponent)


def _exponents(document: str) -> dict[str, float]:
    exponents: dict[str, float] | None = documents.rule(document, "thickness").get("exponents")
    if exponents is None:
        raise NotCoveredError(f"{document} gives thickness exponents by class, not by detail", "document")
    return exponents


def _reference(document: str, own: float | None, given: float | None) -> float:
    if own is not None and given is not None and given != own:
        raise InputError(f"{document} has its own reference thickness, {as_given(own)} mm", "reference_mm")
    reference = own if own is not None else given
    if reference is None:
        raise InputError(f"the reference thickness of {document} is not at hand: give it", "reference_mm")
    return reference


def _report(
    key: str,
    plate: FloatArray,
    counted: FloatArray,
    reference: float,
    exponent: float,
    what: str,
    doubts: tuple[Finding, ...] = (),
) -> Correction:
    factor = _factor(counted, reference, exponent)
    relieved = bool((factor > _factor(plate, reference, exponent)).any())
    text = f"{what}, exponent {as_given(exponent)} above {as_given(reference)} mm"
    if (counted < plate).any():
        text += f"; the toe distance makes {show_correction(plate)} mm count as {show_correction(counted)} mm"
    found = Correction.reported(
        "thickness",
        "thickness-correction",
        factor,
        text,
        doubtful=relieved,
        source=key,
        table=documents.document(key).table,
        field="thickness_mm",
    )
    return replace(found, findings=(*found.findings, *length_doubts(plate, "thickness_mm"), *doubts))
