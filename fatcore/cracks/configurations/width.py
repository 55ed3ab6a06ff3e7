"""What a plate without a width is taken for, in every route that cracks one."""

from __future__ import annotations

from fatcore.cracks.configurations.configuration import CrackConfiguration
from fatcore.cracks.configurations.plates import SurfaceCrack
from fatcore.cracks.configurations.straight import CentreCrack
from fatcore.cracks.intensity.wide_plate import wide_plate
from fatcore.findings import Finding


def width_findings(*cracks: CrackConfiguration) -> list[Finding]:
    """A caution where one of the cracks has a width that was not given."""
    return [wide_plate("crack")] if any(_is_wide(crack) for crack in cracks) else []


def _is_wide(crack: CrackConfiguration) -> bool:
    if isinstance(crack, SurfaceCrack):
        return crack.half_width_mm is None
    return isinstance(crack, CentreCrack) and crack.width_mm is None
