"""Columns over the life of a crack, as an answer shows them."""

from __future__ import annotations

from dataclasses import dataclass

from fatcore.bounds import UnboundedColumn
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

    size_kind: str
    end_reason: str
    outside_codes: tuple[str, ...] = ()
    elapsed_cycles: FloatArray
    depth_mm: FloatArray | None
    half_length_mm: FloatArray | None
    aspect_ratio: FloatArray | None
    delta_k_deepest_mpa_sqrt_mm: FloatArray
    delta_k_surface_mpa_sqrt_mm: FloatArray | None
    rate_deepest_mm_per_cycle: UnboundedColumn
    rate_surface_mm_per_cycle: UnboundedColumn | None
    load_share: FloatArray | None
    end_moment_nmm: FloatArray | None
    stiffness_ratio: FloatArray | None
