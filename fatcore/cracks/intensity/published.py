"""Printed and independently computed stress intensity factors that the families must give."""

from __future__ import annotations

from fatcore.cracks.intensity._published_ellipse import ELLIPSE_CHECKS
from fatcore.cracks.intensity._published_plate import PLATE_CHECKS
from fatcore.cracks.intensity._published_weight import WEIGHT_CHECKS
from fatcore.cracks.intensity._published_weld import WELD_CHECKS

__all__ = ["CHECKS"]

CHECKS = (*ELLIPSE_CHECKS, *PLATE_CHECKS, *WELD_CHECKS, *WEIGHT_CHECKS)
