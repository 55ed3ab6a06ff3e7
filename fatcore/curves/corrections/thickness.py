"""Thickness: thicker plates than the reference bear less; each document has its own exponents."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike

from fatcore.curves.catalogue import describe_curve
from fatcore.curves.corrections.correction import Correction, show_correction
from fatcore.curves.documents import document, rule
from fatcore.curves.segments import common_shape
from fatcore.errors import InputError, NotCoveredError, UnknownError
from fatcore.findings import Finding
from fatcore.plausible import length_doubts
from fatcore.require import FloatArray, positive


def thickness_factor(thickness_mm: ArrayLike, reference_mm: float, exponent: float) -> FloatArray:
    """Strength factor for plates thicker than the reference.

    thickness_mm : (effective) plate thickness [mm], > 0, scalar or array
    reference_mm : thickness up to which the class holds [mm], > 0
    exponent     : of the detail, >= 0
    Returns      : (reference/thickness)^exponent above the reference, else 1 [-], same shape
    Raises       : InputError outside these
    Source       : [iiw-2016], [en-1993-1-9-2005], [bs-7608-1993], [dnv-rp-c203-2016]

    >>> float(thickness_factor(50.0, 25.0, 0.25).round(4))
    0.8409
    """
    if not 0.0 <= exponent < np.inf:
        raise InputError("exponent must be finite and not negative", "exponent")
    plate = positive("thickness_mm", thickness_mm)
    reference = float(positive("reference_mm", reference_mm))
    return np.asarray((reference / np.maximum(plate, reference)) ** exponent)


def effective_thickness_mm(thickness_mm: ArrayLike, toe_distance_mm: ArrayLike) -> FloatArray:
    """Thickness that counts for a short attachment: half its toe-to-toe length when below twice the plate.

    thickness_mm, toe_distance_mm : plate thickness and length from toe to toe [mm], > 0
    Returns                       : effective thickness [mm], broadcast shape
    Raises                        : InputError outside these
    Source                        : [iiw-2016]

    >>> float(effective_thickness_mm(40.0, 60.0)), float(effective_thickness_mm(40.0, 90.0))
    (30.0, 40.0)
    """
    plate, length = positive("thickness_mm", thickness_mm), positive("toe_distance_mm", toe_distance_mm)
    common_shape(thickness_mm=plate, toe_distance_mm=length)
    return np.minimum(plate, 0.5 * length)


def details(document_key: str) -> tuple[str, ...]:
    """The details with a thickness exponent in a document; NotCoveredError when it gives none by name."""
    return tuple(_exponents(document_key))


def thickness(
    thickness_mm: ArrayLike,
    *,
    document_key: str,
    detail: str,
    toe_distance_mm: ArrayLike | None = None,
    reference_mm: float | None = None,
) -> Correction:
    """The thickness correction of a document for a named detail.

    thickness_mm    : plate thickness [mm]
    document_key    : 'iiw-2016', 'en-1993-1-9-2005', 'bs-7608-1993', 'iacs-csr-2019'
    detail          : one of `details(document_key)`
    toe_distance_mm : length from toe to toe [mm], only where the document counts it for the detail (IIW:
                      cruciform and T joints, transverse attachments); a relief by it is a caution
    reference_mm    : only where the document's own is not in its table
    Raises          : InputError, UnknownError for the detail, NotCoveredError where there is no such rule
    """
    section, exponents = rule(document_key, "thickness"), _exponents(document_key)
    if detail not in exponents:
        raise UnknownError("detail", detail, exponents, "detail")
    plate = counted = positive("thickness_mm", thickness_mm)
    if toe_distance_mm is not None:
        if detail not in section.get("toe_distance_details", ()):
            text = f"{document_key} does not count the toe distance for {detail}"
            raise NotCoveredError(text, "toe_distance_mm")
        counted = effective_thickness_mm(plate, toe_distance_mm)
    reference = _reference(document_key, section.get("reference_mm"), reference_mm)
    doubts, what = length_doubts(toe_distance_mm, "toe_distance_mm"), f"detail {detail}"
    return _report(document_key, plate, counted, reference, exponents[detail], what, doubts)


def class_thickness(thickness_mm: ArrayLike, curve_id: str) -> Correction:
    """The thickness correction of a curve whose document ties the exponent to the class.

    Raises : UnknownError for the curve, NotCoveredError where the document gives no exponent for its class
    """
    description = describe_curve(curve_id)
    exponent, reference = description.thickness_exponent, description.thickness_reference_mm
    if exponent is None or reference is None:
        raise NotCoveredError(f"no thickness exponent goes with the class of {curve_id!r}")
    plate = positive("thickness_mm", thickness_mm)
    return _report(description.curve.source, plate, plate, reference, exponent, f"class {description.label}")


def _exponents(document_key: str) -> dict[str, float]:
    exponents: dict[str, float] | None = rule(document_key, "thickness").get("exponents")
    if exponents is None:
        raise NotCoveredError(f"{document_key} gives thickness exponents by class, not by detail", "document")
    return exponents


def _reference(document_key: str, own: float | None, given: float | None) -> float:
    if own is not None and given is not None and given != own:
        raise InputError(f"{document_key} has its own reference thickness, {own:g} mm", "reference_mm")
    reference = own if own is not None else given
    if reference is None:
        raise InputError(f"the reference thickness of {document_key} is not at hand: give it", "reference_mm")
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
    factor = thickness_factor(counted, reference, exponent)
    relieved = bool((factor > thickness_factor(plate, reference, exponent)).any())
    text = f"{what}, exponent {exponent:g} above {reference:g} mm"
    if (counted < plate).any():
        text += f"; the toe distance makes {show_correction(plate)} mm count as {show_correction(counted)} mm"
    found = Correction.reported(
        "thickness",
        "thickness-correction",
        factor,
        text,
        doubtful=relieved,
        source=key,
        table=document(key).table,
        field="thickness_mm",
    )
    return replace(found, findings=(*found.findings, *length_doubts(plate, "thickness_mm"), *doubts))
