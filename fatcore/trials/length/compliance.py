"""Crack sizes of compact specimens from their compliance, and back."""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.polynomial.polynomial import polyval

from fatcore.bounds import Positive, PositiveArray, guarded
from fatcore.errors import InputError, at
from fatcore.figures import as_given
from fatcore.findings import outside
from fatcore.outcome import evidence
from fatcore.require import FloatArray
from fatcore.tables import load
from fatcore.trials.length.form import TABLE, inverse_of
from fatcore.trials.length.reading import CrackLengthOutcome, guard_sizes, readings_of, size_findings

_COMPLIANCE = load(TABLE)["compliance"]
_FRONT_FACE = (0.001, 0.215)  # of u, between which its form falls all the way, from 0.996 to 0.11 of the width


@guarded
def lengths_from_compliance(
    compliance_mm_per_n: PositiveArray,
    *,
    width_mm: Positive,
    thickness_mm: Positive,
    youngs_modulus_mpa: Positive,
    gauge: Literal["load-line", "front-face"],
) -> CrackLengthOutcome:
    """Crack sizes of a compact specimen from displacement over force.

    gauge  : where the opening is measured; front-face: a quarter of the width before the load line
    Raises : InputError for a compliance to which no size within the specimen belongs
    Source : [astm-e647]
    """
    given = np.asarray(compliance_mm_per_n, dtype=np.float64)
    readings_of(compliance_mm_per_n=given)
    reading = given * youngs_modulus_mpa * thickness_mm
    u = 1.0 / (np.sqrt(reading) + 1.0)
    share = polyval(u, np.array(_COMPLIANCE["load_line" if gauge == "load-line" else "front_face"]))
    guard_sizes(share * width_mm, width_mm, "compliance_mm_per_n")
    return _of_compliance(share, width_mm, reading)


@guarded
def compliances_of_lengths(
    size_mm: PositiveArray, *, width_mm: Positive, gauge: Literal["load-line", "front-face"] = "load-line"
) -> CrackLengthOutcome:
    """Compliance E'vB/P of a compact specimen at crack sizes.

    gauge  : where the opening is measured; of the front face the inverse form is solved
    Raises : InputError for a crack as long as the specimen, and at the front face for one outside its form
    Source : [astm-e647]
    """
    size = np.asarray(size_mm, dtype=np.float64)
    readings_of(size_mm=size)
    share = size / width_mm
    if (share >= 1.0).any():
        raise InputError(f"the crack is as long as the specimen, {as_given(width_mm)} mm", "size_mm")
    if gauge == "load-line":
        forward = polyval(share, np.array(_COMPLIANCE["forward"]))
        reading = np.square((1.0 + share) / (1.0 - share)) * forward
    else:
        with at("size_mm"):
            u = inverse_of(np.array(_COMPLIANCE["front_face"]), *_FRONT_FACE, share)
        reading = np.square(1.0 / u - 1.0)
    return _of_compliance(share, width_mm, reading)


def _of_compliance(share: FloatArray, width_mm: float, reading: FloatArray) -> CrackLengthOutcome:
    low, high = _COMPLIANCE["share"]
    found = size_findings(share * width_mm, width_mm)
    left = (share < low) | (share > high)
    if left.any():
        text = (
            f"{int(left.sum())} reading(s) leave {as_given(low)} to {as_given(high)} of the width, where the form holds"
        )
        found.append(outside("compliance-out-of-range", text, field="size_mm", source="astm-e647"))
    return CrackLengthOutcome(
        size_mm=share * width_mm, reading=reading, **evidence(findings=found, sources=["astm-e647"], tables=[TABLE])
    )
