"""Columns over the life of a crack, as an answer shows them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from fatcore.bounds import NonNegativeArray, NumberArray, Positive, PositiveArray, UnboundedColumn
from fatcore.cracks.configurations.configuration import SizeKind
from fatcore.cracks.growth._phase import Phase
from fatcore.errors import InputError
from fatcore.findings import Finding
from fatcore.require import FloatArray

MOST_ROWS = 240


@dataclass(frozen=True, slots=True, kw_only=True)
class History:
    """Columns of one length, in the order of growth.

    size_kind      : what depth_mm is: depth from a surface; half-length of a crack through the wall (a plate
                     shows it in half_length_mm); buried, half the size of a crack inside; unknown, of a table
    end_reason     : what ended growth
    outside_codes  : codes of the findings by which the growth is outside validity
    block_cycles   : cycles of one block, over which growth is a mean (None for equal cycles)
    strength_checked : growth would have ended by fracture and by collapse
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
    outside_codes: tuple[str, ...]
    block_cycles: Positive | None
    strength_checked: bool
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


def judged(history: History, findings: Iterable[Finding]) -> History:
    """The history with the codes of what puts it outside validity, once each."""
    codes = dict.fromkeys(finding.code for finding in findings if finding.severity == "outside")
    return replace(history, outside_codes=tuple(codes))


def history_of(phases: list[Phase], *, strength_checked: bool = False) -> History:
    """The columns of all phases, thinned to at most 240 rows, first and last kept."""
    rows = [_columns(phase) for phase in phases]
    loading = phases[0].drive.loading
    joined = {name: _join([row[name] for row in rows]) for name in rows[0]}
    count = len(joined["elapsed_cycles"])  # type: ignore[arg-type]
    keep = np.unique(np.linspace(0, count - 1, min(count, MOST_ROWS)).round().astype(np.intp))
    return History(
        size_kind=phases[0].stressed.crack.size_kind,
        end_reason=phases[-1].reason,
        outside_codes=(),
        strength_checked=strength_checked,
        block_cycles=None if loading.is_constant else loading.cycles_per_block,
        **{k: None if v is None else v[keep] for k, v in joined.items()},  # type: ignore[arg-type]
    )


def _join(columns: list[FloatArray | None]) -> FloatArray | None:
    present = [column for column in columns if column is not None]
    return np.concatenate(present) if present else None


def _columns(phase: Phase) -> dict[str, FloatArray | None]:
    stressed, crack, drive = phase.stressed, phase.stressed.crack, phase.drive
    depth, length, cycles, added = phase.samples
    with np.errstate(all="ignore"):
        unit = stressed.unit(depth, length, added)
        range_deepest, range_surface = crack.at_front(drive.ranges(unit).delta_k_mpa_sqrt_mm.max(axis=0))
        rate_deepest, rate_surface = crack.at_front(drive.mean_rate(unit))
    state = stressed.state(added)
    shown_depth, shown_length = crack.shown_sizes(depth, length)
    return {
        "elapsed_cycles": cycles,
        "depth_mm": shown_depth,
        "half_length_mm": shown_length,
        "aspect_ratio": None if shown_length is None or shown_depth is None else shown_depth / shown_length,
        "delta_k_deepest_mpa_sqrt_mm": range_deepest,
        "delta_k_surface_mpa_sqrt_mm": range_surface,
        "rate_deepest_mm_per_cycle": rate_deepest,
        "rate_surface_mm_per_cycle": rate_surface,
        "load_share": None if state is None else _share(state.membrane_mpa, state.bending_mpa, stressed.parts),
        "end_moment_nmm": None if state is None else state.end_moment_nmm,
        "stiffness_ratio": None if state is None else state.stiffness_ratio,
    }


def _share(membrane: FloatArray, bending: FloatArray, start: tuple[float, float]) -> FloatArray | None:
    """By the larger part of the stress at the start."""
    if start == (0.0, 0.0):
        return None
    return membrane / start[0] if abs(start[0]) >= abs(start[1]) else bending / start[1]
