"""Whether a depth path can belong to the station from which the crack is grown."""

from __future__ import annotations

import numpy as np

from fatcore.figures import figure
from fatcore.findings import Finding, caution, outside
from fatcore.require import FloatArray

# Ratio of ranges, path at the surface over station [own choice]. A peak stress is that of the bisector, a
# path that of the crack plane: in a fine model of a toe of 135 deg 0.83 of it at one node, 0.72 at another.
PEAK = (0.6, 1.3)
# Structural and nominal stresses hold no notch, a path may.
_PLAIN = (1.0 / 1.3, 5.0)
_FAR = 0.75  # times the lower end: a path at half of its stress is farther, on any basis [own choice]


def path_location_findings(path_mpa: FloatArray, opening_mpa: FloatArray, basis: str) -> list[Finding]:
    """Findings where the surface value of a path and the stress that opens the station differ.

    A path that is far too low is `outside`: half the stress is eight times the life.
    path_mpa, opening_mpa : of every load state, one length; basis : of the line
    """
    low, high = PEAK if basis == "peak-stress" else _PLAIN
    path, line = float(np.ptp(path_mpa)), float(np.ptp(opening_mpa))
    against = float(path_mpa @ opening_mpa) < 0.0
    if low * line <= path <= high * line and not against:
        return []
    message = (
        f"at the surface the path cycles by {figure(path)} MPa, the stress that opens the governing station by"
        f" {figure(line)} MPa{' against it' if against else ''}: the path is of another place, model, unit or"
        " load case"
    )
    if against or path < _FAR * low * line:
        return [outside("path-not-of-station", message, field="path")]
    return [caution("path-perhaps-not-of-station", message, field="path")]
