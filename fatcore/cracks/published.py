"""Numbers printed in publications or computed independently that the cracks must give."""

from __future__ import annotations

from fatcore.cracks._published_driving import DRIVING_CHECKS
from fatcore.cracks._published_fracture import FRACTURE_CHECKS
from fatcore.cracks._published_lives import LIFE_CHECKS
from fatcore.cracks.intensity import published as intensity

__all__ = ["CHECKS"]

CHECKS = (*intensity.CHECKS, *DRIVING_CHECKS, *LIFE_CHECKS, *FRACTURE_CHECKS)
