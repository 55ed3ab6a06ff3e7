"""Why a crack is arrested, how deep it is when it is, and where its driving force nearly dies away."""

from __future__ import annotations

import numpy as np

from fatcore.cracks.growth._phase import Phase
from fatcore.cracks.growth._vanishing_drive import SHARE, VANISHES, lowest_share
from fatcore.figures import as_given, figure
from fatcore.findings import Finding, caution, outside

FALLS = 1.0 / 3.0  # driving force over its peak: with exponent 3 a crack 27 times slower [own choice]
DEEP = 0.5  # of the largest depth [own choice]


def rest_findings(last: Phase) -> list[Finding]:
    """Findings on a life that is infinite since the crack came to rest; empty for other ends."""
    if last.reason != "arrest":
        return []
    found = [_reason(last)]
    depth, largest = float(last.final().depth[0]), last.stressed.crack.largest()[0]
    if last.steps and depth > DEEP * largest:
        message = (
            f"the crack came to rest at {figure(depth)} mm of {figure(largest)} mm: a life counts as infinite although"
            " the crack has grown so far; a little more load, or another end, may break the section"
        )
        found.append(caution("arrest-after-growth", message, field="life_cycles"))
    return found


def _reason(last: Phase) -> Finding:
    drive, (depth, length, _, added) = last.drive, last.final()
    with np.errstate(all="ignore"):
        unit = last.stressed.unit(depth, length, added)
        delta, ratio = drive.ranges(unit)
    infinite = "the crack is arrested and the life counts as infinite"
    if not (drive.law.threshold.is_zero or (delta <= 0.0).all()):
        largest = int(np.argmax(delta))
        level = float(np.ravel(drive.law.threshold.range_mpa_sqrt_mm(ratio))[largest])
        message = (
            f"every range is below the threshold: the largest is {figure(np.ravel(delta)[largest])} MPa√mm,"
            f" the threshold {figure(level)}; {infinite}"
        )
        return caution("below-threshold", message, field="life_cycles")
    if drive.condition == "stress-relieved" and np.any(unit.opening):
        message = (
            "stress-relieved: load and lasting stress hold the crack closed over every cycle;"
            f" {infinite}, which hangs on the compression that was given"
        )
        return caution("closed-by-compression", message, field="life_cycles")
    message = f"no range is left at this size: {infinite}"
    return caution("no-range", message, field="life_cycles")


def force_findings(phases: list[Phase]) -> list[Finding]:
    """Findings on a driving force that falls along a life."""
    last = phases[-1]
    if last.reason == VANISHES:
        size = float(last.final().depth[0])
        message = (
            f"at {figure(size)} mm the stress intensity of the load fell to {as_given(SHARE)} of its earlier peak, or"
            " goes on to zero: it nearly dies away, and no integral tells how long a crack lasts there; the"
            " life is counted up to there"
        )
        return [outside(VANISHES, message, field="life_cycles")]
    if (share := min(lowest_share(phase.drive, phase.unit) for phase in phases)) < FALLS:
        message = (
            f"the driving force falls to {figure(100.0 * share)} % of its earlier peak, where the crack grows "
            "slowly: the"
            " life hangs on how far it falls"
        )
        return [caution("driving-force-falls", message, field="life_cycles")]
    return []
