"""Weld cross-section under membrane, bending, shear, out-of-plane shear."""

from __future__ import annotations

from fatcore.stress.section import joint, results

from ...base.common import Reply, Strict, post, reply
from ...base.derive import Derived, answer_of, request_of
from ..costs import flat


@request_of(joint.SectionLoads)
class SectionLoads(Derived):
    """Nominal stresses that act together: of the attachment in its section at the plate surface, where the
    shear has no moment; of the plate far from the weld. Tearing is shear along the weld."""


@request_of(joint.section_stress)
class SectionRequest(Derived):
    """A plate with an attachment on one side or both, joined by fillet welds of straight flanks."""


@answer_of(results.UnitLoad)
class SectionUnitLoad(Strict):
    """Effect of 1 MPa of one load at the right upper corner; k2 is null where sliding is not singular."""


@answer_of(results.SectionPoint)
class SectionPoint(Strict):
    """One singular point at all corners; columns run over the corners. The biaxiality ratio is null where the
    opening mode is zero, the direct stress where the mesh cannot show the control sector."""


@answer_of(results.SectionStress)
class SectionAnswer(Strict):
    """Every singular point, and where the equivalent stress is largest."""


@post("stress/section", SectionRequest, SectionAnswer, revision=1, summary="Weld cross-section", cost=flat(0.3))
def section(request: SectionRequest) -> Reply:
    """Notch stress intensities, averaged energy and equivalent stress at the toes and the root of a plate
    with fillet-welded attachments, by finite elements on two meshes. All loads act together; symmetry gives
    the other corners. No element constant enters, so that it can check a peak-stress model of the joint."""
    return reply(SectionAnswer, request.to_core())
