"""Findings of the cross-section solver: what the idealisation leaves out, and what is doubtful in the answer."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from fatcore.figures import as_given
from fatcore.findings import Finding, caution, note
from fatcore.stress.section.results import SectionPoint

SOURCE = "section-solver"
_CONVERGED_PCT = 1.0
_MINOR = 0.1  # points below this share of the largest stress need no word on their energy
_DIRECT = 0.1  # difference of the two equivalent stresses that is worth a word


def joint_remarks(one_sided: bool, loads: Iterable[str]) -> tuple[Finding, ...]:
    """What holds for every point of the joint."""
    remarks = [
        note(
            "plane-section",
            "a slice of an infinite weld: ends of the weld, stops and starts, misalignment and weld shape "
            "other than straight flanks are not in the model",
            source=SOURCE,
        )
    ]
    reacted = {"attachment_shear_mpa"}
    if one_sided:
        reacted |= {"attachment_membrane_mpa", "attachment_bending_mpa", "attachment_tearing_mpa"}
    if reacted & set(loads):
        message = "both ends of the plate share the reaction to the load on the attachment equally"
        remarks.append(note("reaction-shared", message, field="loads", source=SOURCE))
    return tuple(remarks)


def point_remarks(point: SectionPoint, largest: float) -> tuple[Finding, ...]:
    """What holds for one singular point; largest is the equivalent stress of the worst point of the joint."""
    remarks = []
    if point.location == "root" and (point.k1_mpa_mm_lambda < 0.0).any():
        message = (
            "the gap closes at a corner: its faces may overlap in the model, since contact is left out; "
            "a negative opening intensity counts in full"
        )
        remarks.append(caution("gap-closes", message, field="k1_mpa_mm_lambda", source=SOURCE))
    if point.error_pct * float(point.equivalent_stress_mpa.max()) > _CONVERGED_PCT * largest:
        message = (
            f"{point.location}: the two meshes differ by more than {as_given(_CONVERGED_PCT)} % of the largest "
            "equivalent stress of the joint"
        )
        remarks.append(caution("meshes-differ", message, field="error_pct", source=SOURCE))
    return (*remarks, *_sector_remarks(point, largest))


def _sector_remarks(point: SectionPoint, largest: float) -> tuple[Finding, ...]:
    field, direct = "direct_equivalent_stress_mpa", point.direct_equivalent_stress_mpa
    if direct is None:
        message = (
            f"{point.location}: the control radius does not fit the sizes round the point (it reaches other "
            "features, or is below a thousandth of them); the energy from intensities stands unchecked"
        )
        return (caution("sector-not-meshed", message, field=field, source=SOURCE),)
    worst = int(np.argmax(direct))
    one, other = float(direct[worst]), float(point.equivalent_stress_mpa[worst])
    if one < _MINOR * largest or abs(one - other) <= _DIRECT * other:
        return ()
    message = (
        f"{point.location}: stresses beside the singular ones matter within the control radius; all energy "
        f"gives an equivalent stress more than {as_given(100.0 * _DIRECT)} % off that of the intensities"
    )
    return (caution("energy-not-singular", message, field=field, source=SOURCE),)
