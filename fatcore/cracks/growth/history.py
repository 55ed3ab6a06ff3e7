"""Columns over the life of a crack, as an answer shows them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fatcore.bounds import NonNegativeArray, NumberArray, PositiveArray, UnboundedColumn
from fatcore.cracks.configurations.configuration import SizeKind
from fatcore.errors import InputError
from fatcore.require import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class History:
    """Columns of one length, in the order of growth.

    size_kind      : what depth_mm is: depth from a surface; half-length of a crack through the wall (a plate
                     shows it in half_length_mm); buried, half the size of a crack inside; unknown, of a table
    end_reason     : what ended growth
    outside_codes  : codes of the findings by which the growth is outside validity
    elapsed_cycles : cycles so far
    depth_mm       : depth, for a through crack the thickness (None when none is given), for a table its size
    half_length_mm : half length at the surface (None for edge cracks and tables)
    delta_k_...    : largest effective range of the block at the deepest point (or the only one) and at the
                     surface
    rate_...       : mean growth per cycle
    load_share     : stress in the cracked member (the larger of membrane and bending) over its value without
                     crack; end_moment_nmm at load
                     factor 1;
    stiffness_ratio : of the whole joint; these three with sharing only
    """

    size_kind: SizeKind = "unknown"
    end_reason: str
    outside_codes: tuple[str, ...] = ()
    elapsed_cycles: NonNegativeArray
    depth_mm: PositiveArray | None
    half_length_mm: PositiveArray | None = None
    aspect_ratio: NumberArray | None = None
    delta_k_deepest_mpa_sqrt_mm: NumberArray
    delta_k_surface_mpa_sqrt_mm: NumberArray | None = None
    rate_deepest_mm_per_cycle: UnboundedColumn
    rate_surface_mm_per_cycle: UnboundedColumn | None = None
    load_share: NumberArray | None = None
    end_moment_nmm: NumberArray | None = None
    stiffness_ratio: NumberArray | None = None

    def depths_mm(self) -> FloatArray:
        """Depths; InputError for a crack that has none."""
        if self.size_kind == "half-length":
            raise InputError("this crack goes through the wall: it has a length, no depth", "size_kind")
        if self.depth_mm is None:
            raise InputError("the history has no depth", "history", "depth_mm")
        return self.depth_mm

    def lengths_mm(self) -> FloatArray:
        """Whole lengths at the surface; InputError for a crack that shows none."""
        halves = self.half_length_mm
        if halves is None and self.size_kind == "half-length":
            halves = self.depth_mm
        if halves is None:
            raise InputError("the history has no length", "history", "half_length_mm")
        return 2.0 * np.asarray(halves)
