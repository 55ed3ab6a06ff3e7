"""Columns over the life of a crack."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from fatcore.cracks.configurations.configuration import CrackConfiguration
from fatcore.cracks.configurations.given_intensity import GivenIntensity
from fatcore.cracks.configurations.plates import SurfaceCrack
from fatcore.cracks.configurations.straight import CentreCrack
from fatcore.cracks.growth._phase import Phase
from fatcore.cracks.growth.history import History
from fatcore.findings import Finding
from fatcore.require import FloatArray

MOST_ROWS = 240


def judged(history: History, findings: Iterable[Finding]) -> History:
    """The history with the codes of what puts it outside validity, once each."""
    codes = dict.fromkeys(finding.code for finding in findings if finding.severity == "outside")
    return replace(history, outside_codes=tuple(codes))


def sharing_depths(crack: CrackConfiguration, depth: FloatArray) -> FloatArray:
    """Relative depth that the limits of the compliance model speak of."""
    return crack.lost_area_ratio(depth, depth) if isinstance(crack, CentreCrack) else depth / crack.wall_mm


def history_of(phases: list[Phase]) -> History:
    """The columns of all phases, thinned to at most 240 rows, first and last kept."""
    rows = [_columns(phase) for phase in phases]
    joined = {name: _join([row[name] for row in rows]) for name in rows[0]}
    count = len(joined["elapsed_cycles"])  # type: ignore[arg-type]
    keep = np.unique(np.linspace(0, count - 1, min(count, MOST_ROWS)).round().astype(np.intp))
    return History(
        size_kind=_size_kind(phases[0].stressed.crack),
        end_reason=phases[-1].reason,
        **{k: None if v is None else v[keep] for k, v in joined.items()},  # type: ignore[arg-type]
    )


def _size_kind(crack: CrackConfiguration) -> str:
    if isinstance(crack, GivenIntensity):
        return str(getattr(crack, "size_kind", "unknown"))
    return "half-length" if isinstance(crack, CentreCrack) else "depth"


def _join(columns: list[FloatArray | None]) -> FloatArray | None:
    present = [column for column in columns if column is not None]
    return np.concatenate(present) if present else None


def _columns(phase: Phase) -> dict[str, FloatArray | None]:
    stressed, crack, drive = phase.stressed, phase.stressed.crack, phase.drive
    depth, length, cycles, added = phase.samples
    with np.errstate(all="ignore"):
        unit = stressed.unit(depth, length, added)
        ranges = drive.ranges(unit).delta_k_mpa_sqrt_mm.max(axis=0)
        rates = drive.mean_rate(unit)
    if isinstance(crack, CentreCrack):  # the surface that bending opens
        ranges, rates = ranges.max(axis=0, keepdims=True), rates.max(axis=0, keepdims=True)
    state = stressed.state(added)
    shown_depth, shown_length = _select_rows(crack, depth, length)
    both = isinstance(crack, SurfaceCrack | CentreCrack)
    return {
        "elapsed_cycles": cycles,
        "depth_mm": shown_depth,
        "half_length_mm": shown_length,
        "aspect_ratio": None if shown_length is None or shown_depth is None else shown_depth / shown_length,
        "delta_k_deepest_mpa_sqrt_mm": ranges[0],
        "delta_k_surface_mpa_sqrt_mm": ranges[-1] if both else None,
        "rate_deepest_mm_per_cycle": rates[0],
        "rate_surface_mm_per_cycle": rates[-1] if both else None,
        "load_share": None if state is None else _share(state.membrane_mpa, state.bending_mpa, stressed.parts),
        "end_moment_nmm": None if state is None else state.end_moment_nmm,
        "stiffness_ratio": None if state is None else state.stiffness_ratio,
    }


def _share(membrane: FloatArray, bending: FloatArray, start: tuple[float, float]) -> FloatArray | None:
    """By the larger part of the stress at the start."""
    if start == (0.0, 0.0):
        return None
    return membrane / start[0] if abs(start[0]) >= abs(start[1]) else bending / start[1]


def _select_rows(
    crack: CrackConfiguration, depth: FloatArray, length: FloatArray
) -> tuple[FloatArray | None, FloatArray | None]:
    if isinstance(crack, CentreCrack):
        return None if crack.thickness_mm is None else np.full(depth.shape, crack.thickness_mm), depth
    return depth, length if crack.two_lengths else None
