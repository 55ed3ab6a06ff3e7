"""What one mesh says: intensities and sector energies of every singular point for unit loads."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fatcore.require import FloatArray
from fatcore.stress.modes import MODES, Mode
from fatcore.stress.section._cases import CASES
from fatcore.stress.section._extraction import intensity, mutual_energy
from fatcore.stress.section._mesh import Mesh, Patch, mesh_of
from fatcore.stress.section._shape import Section, Tip
from fatcore.stress.section._solution import displacements
from fatcore.stress.section.results import Corner

_CORNERS: dict[Corner, tuple[int, int]] = {
    "right-upper": (1, 1),
    "left-upper": (-1, 1),
    "left-lower": (-1, -1),
    "right-lower": (1, -1),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class TipResponse:
    """Unit loads at one singular point of the right upper part.

    intensities : (loads, 3) for opening, sliding, tearing
    energy      : mean energy density of the sector times Young's modulus, form (loads, loads), or None
    """

    tip: Tip
    intensities: FloatArray
    energy: FloatArray | None


def responses(
    section: Section,
    loads: Sequence[str],
    *,
    poisson_ratio: float,
    control_radius_mm: float,
    span: float,
    step: float,
) -> list[TipResponse]:
    """Responses of all singular points to unit loads; step is the angle of the mesh's rays [rad]."""
    mesh = mesh_of(section, control_radius_mm, step)
    moved = displacements(section, mesh, loads, poisson_ratio, span)
    return [
        TipResponse(
            tip=patch.tip,
            intensities=np.array([_modes(mesh, patch, name, moved[name], poisson_ratio) for name in loads]),
            energy=_energy(mesh, patch, loads, moved, poisson_ratio) if len(patch.sector) else None,
        )
        for patch in mesh.patches
    ]


def corner_signs(section: Section, loads: Sequence[str]) -> dict[Corner, FloatArray]:
    """Factor of each load at each corner of the joint, by symmetry: +1 or -1."""
    signs = {}
    for corner, (side, level) in _CORNERS.items():
        if level == 1 or section.mirrored:
            cases = [CASES[name] for name in loads]
            signs[corner] = np.array([(1.0 if c.even_x else side) * (1.0 if c.even_y else level) for c in cases])
    return signs


def _modes(mesh: Mesh, patch: Patch, name: str, moved: FloatArray, poisson_ratio: float) -> list[float]:
    wanted: tuple[Mode, ...] = ("tearing",) if CASES[name].tearing else ("opening", "sliding")
    return [intensity(mesh, patch, moved, mode, poisson_ratio) if mode in wanted else 0.0 for mode in MODES]


def _energy(
    mesh: Mesh, patch: Patch, loads: Sequence[str], moved: dict[str, FloatArray], poisson_ratio: float
) -> FloatArray:
    """In-plane and out-of-plane loads share no energy."""
    form = np.zeros((len(loads), len(loads)))
    for tearing in (False, True):
        which = [k for k, name in enumerate(loads) if CASES[name].tearing is tearing]
        if which:
            part = mutual_energy(mesh, patch, [moved[loads[k]] for k in which], poisson_ratio)
            form[np.ix_(which, which)] = part
    return form
