"""Route of the small solver: a weld cross-section under membrane, bending, shear, out-of-plane shear."""

from __future__ import annotations

from dataclasses import asdict

from fatcore.stress.section.joint import section_stress

from ...base.common import Reply, post, reply
from .section_models import SectionAnswer, SectionRequest


@post("stress/section", SectionRequest, SectionAnswer, revision=1, summary="Weld cross-section")
def section(request: SectionRequest) -> Reply:
    """Notch stress intensities, averaged energy and equivalent stress at the toes and the root of a plate
    with fillet-welded attachments, by finite elements on two meshes. All loads act together; symmetry gives
    the other corners. No element constant enters, so that it can check a peak-stress model of the joint."""
    given = request.model_dump()
    outcome = section_stress(**given)
    return reply(SectionAnswer, outcome, section_points=[asdict(p) for p in outcome.section_points])
