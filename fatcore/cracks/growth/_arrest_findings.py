"""Why a crack stands still, and how deep it is when it does."""

from __future__ import annotations

import numpy as np

from fatcore.cracks.growth._phase import Phase
from fatcore.findings import Finding, caution

DEEP = 0.5  # of the largest depth [own choice]


def rest_findings(last: Phase) -> list[Finding]:
    """Findings on a life that is infinite since the crack came to rest; empty for other ends."""
    if last.reason != "arrest":
        return []
    found = [_reason(last)]
    depth, largest = float(last.final().depth[0]), last.stressed.crack.largest()[0]
    if last.steps and depth > DEEP * largest:
        message = (
            f"the crack came to rest at {depth:.4g} mm of {largest:.4g} mm: a life counts as infinite although"
            " the crack has grown so far; a little more load, or another end, may break the section"
        )
        found.append(caution("arrest-after-growth", message, field="life_cycles"))
    return found


def _reason(last: Phase) -> Finding:
    drive, (depth, length, _, added) = last.drive, last.final()
    with np.errstate(all="ignore"):
        unit = last.stressed.unit(depth, length, added)
        delta, ratio = drive.ranges(unit)
    infinite = "the crack stands still and the life counts as infinite"
    if not (drive.law.threshold.is_zero or (delta <= 0.0).all()):
        largest = int(np.argmax(delta))
        level = float(np.ravel(drive.law.threshold.range_mpa_sqrt_mm(ratio))[largest])
        message = (
            f"every range is below the threshold: the largest is {np.ravel(delta)[largest]:.4g} MPa*sqrt(mm),"
            f" the threshold {level:.4g}; {infinite}"
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
