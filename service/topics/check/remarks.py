"""What an answer of the check says of inputs that the core does not see as they were given."""

from __future__ import annotations

from fatcore.findings import Finding, caution, note
from fatcore.outcome import Outcome, evidence
from fatcore.stress.materials import RADIUS_TABLE, material_findings, poisson_findings, radius_findings

from .models import CheckRequest


def needs_radius(request: CheckRequest) -> bool:
    """Whether the control radius of the material takes part in any line."""
    return any(line.basis == "peak-stress" for line in request.lines)


def of_inputs(request: CheckRequest) -> Outcome:
    """Material and unit loads: where their figures come from, and what they do not do."""
    tables = [RADIUS_TABLE] if needs_radius(request) else []
    return Outcome(**evidence(findings=[*_radius(request), *_unit_loads(request)], tables=tables))


def _radius(request: CheckRequest) -> tuple[Finding, ...]:
    name, radius = request.material.name, request.material.control_radius_mm
    if needs_radius(request):
        found = material_findings(name) if radius is None else radius_findings(name, radius)
        return (*found, *poisson_findings(name, request.material.poisson_ratio))
    if radius is None:
        return ()
    text = "no line is on the peak-stress basis: the control radius was not used"
    return (note("control-radius-not-used", text, field="control_radius_mm"),)


def _unit_loads(request: CheckRequest) -> tuple[Finding, ...]:
    """A label of 1 says nothing; any other may have been meant to divide the stresses, which it does not."""
    labels = {(line.unit_load.value, line.unit_load.unit) for line in request.lines if line.unit_load}
    if not labels or (len(labels) == 1 and next(iter(labels))[0] == 1.0):
        return ()
    listed = ", ".join(f"{value:g} {unit}" for value, unit in sorted(labels))
    text = f"unit loads ({listed}) are labels: factors multiply the stresses of the cases as they are given"
    return (caution("unit-load-is-a-label", text, field="unit_load"),)
