"""Published formulas of joints that the cross-section solver must come close to."""

from __future__ import annotations

import numpy as np

from fatcore.stress.section.joint import SectionLoads, section_stress
from fatcore.verification.case import VerificationCase


def _toe() -> float:
    """Toe on a plate of 12 mm with attachments of 12 mm and legs of 8 mm under 100 MPa."""
    found = section_stress(
        attachments=2,
        plate_thickness_mm=12.0,
        attachment_thickness_mm=12.0,
        plate_leg_mm=8.0,
        gap_mm=0.0,
        loads=SectionLoads(plate_membrane_mpa=100.0),
        control_radius_mm=0.28,
    )
    return float(found.section_points[0].k1_mpa_mm_lambda[0])


def _root() -> float:
    """Factor K / (S sqrt(pi a)) of an unfused attachment of 10 mm with legs of 5 mm."""
    found = section_stress(
        attachments=2,
        plate_thickness_mm=20.0,
        attachment_thickness_mm=10.0,
        plate_leg_mm=5.0,
        gap_mm=10.0,
        loads=SectionLoads(attachment_membrane_mpa=1.0),
        control_radius_mm=0.28,
    )
    return float(found.section_points[0].k1_mpa_mm_lambda[0] / np.sqrt(np.pi * 5.0))


CASES: tuple[VerificationCase, ...] = (
    VerificationCase(
        id="section-toe",
        title="intensity at a fillet toe in tension, by finite elements",
        source="fillet-toe-intensity-1998",
        where="formula for t = L = 12 mm, h = 8 mm, 100 MPa",
        status="from memory",
        expected="263.52",
        compute=_toe,
        tolerance=0.53,
        why="0.2 %: the formula is a fit to computed joints",
    ),
    VerificationCase(
        id="section-root",
        title="factor of a root gap under membrane stress, by finite elements",
        source="frank-fisher-1979",
        where="formula for gap over width 0.5, leg over thickness 0.5",
        status="from memory",
        expected="0.9285",
        compute=_root,
        tolerance=0.0186,
        why="2 %: the formula is a fit that leaves out the thickness of the plate between the attachments",
    ),
)
