"""What a plate without a width is taken for, in every route that cracks one."""

from __future__ import annotations

from fatcore.cracks.configurations.configuration import Body
from fatcore.cracks.configurations.plates import SurfaceCrack
from fatcore.cracks.configurations.straight import CentreCrack
from fatcore.cracks.intensity.wide_plate import wide_plate
from fatcore.findings import Finding


def width_findings(*bodies: Body) -> list[Finding]:
    """A caution where one of the bodies has a width that was not given."""
    return [wide_plate("crack")] if any(_is_wide(body) for body in bodies) else []


def _is_wide(body: Body) -> bool:
    if isinstance(body, SurfaceCrack):
        return body.half_width_mm is None
    return isinstance(body, CentreCrack) and body.width_mm is None
