"""Numbers printed in publications or computed independently that the cracks must give."""

from __future__ import annotations

from fatcore.cracks.intensity import published as intensity
from fatcore.cracks.published_driving import DRIVING_CHECKS
from fatcore.cracks.published_fracture import FRACTURE_CHECKS
from fatcore.cracks.published_lives import LIFE_CHECKS

__all__ = ["CHECKS"]

CHECKS = (*intensity.CHECKS, *DRIVING_CHECKS, *LIFE_CHECKS, *FRACTURE_CHECKS)
