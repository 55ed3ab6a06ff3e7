"""Numbers printed or computed independently that laws, lives and fracture of cracks must give."""

from __future__ import annotations

from fatcore.cracks._published_driving import DRIVING_CHECKS
from fatcore.cracks._published_fracture import FRACTURE_CHECKS
from fatcore.cracks._published_lives import LIFE_CHECKS

__all__ = ["CHECKS"]

CHECKS = (*DRIVING_CHECKS, *LIFE_CHECKS, *FRACTURE_CHECKS)
