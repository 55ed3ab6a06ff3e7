"""Columns over the life of a crack."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from fatcore.cracks.growth._phase import Phase
from fatcore.cracks.growth.history import History
from fatcore.findings import Finding
from fatcore.require import FloatArray

MOST_ROWS = 240


def judged(history: History, findings: Iterable[Finding]) -> History:
    """The history with the codes of what puts it outside validity, once each."""
    codes = dict.fromkeys(finding.code for finding in findings if finding.severity == "outside")
    return replace(history, outside_codes=tuple(codes))


def history_of(phases: list[Phase]) -> History:
    """The columns of all phases, thinned to at most 240 rows, first and last kept."""
    rows = [_columns(phase) for phase in phases]
    joined = {name: _join([row[name] for row in rows]) for name in rows[0]}
    count = len(joined["elapsed_cycles"])  # type: ignore[arg-type]
    keep = np.unique(np.linspace(0, count - 1, min(count, MOST_ROWS)).round().astype(np.intp))
    return History(
        size_kind=phases[0].stressed.crack.size_kind,
        end_reason=phases[-1].reason,
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
