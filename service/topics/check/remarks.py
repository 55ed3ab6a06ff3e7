"""What an answer of the check says of inputs that the core does not see as they were given."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from fatcore.figures import as_given
from fatcore.findings import Finding, caution, note
from fatcore.outcome import Outcome, evidence
from fatcore.stress.materials import RADIUS_TABLE, material_findings, poisson_findings, radius_findings

from .judging import CheckMaterial
from .models import CheckRequest
from .settings import OWN, needs_radius, own_settings


def of_inputs(request: CheckRequest) -> Outcome:
    """Settings, material and unit loads: where their figures come from, and what they do not do."""
    tables = [RADIUS_TABLE] if any(line.basis == "peak-stress" for line in request.lines) else []
    found = [*_radius(request), *_own_settings(request), *_idle_settings(request), *_unit_loads(request)]
    return Outcome(**evidence(findings=found, tables=tables))


def _radius(request: CheckRequest) -> Iterator[Finding]:
    """Of the material of the check, where a line has none for itself, and of those that have one."""
    own = [(line, line.material) for line in request.lines if line.material is not None]
    if len(own) < len(request.lines):
        text = "no line is on the peak-stress basis: the control radius was not used"
        yield from _of_material(request.material, needs_radius(request), text)
    for line, material in own:
        text = f"the {line.basis} basis does not use the control radius"
        found = _of_material(material, line.basis == "peak-stress", text)
        yield from (replace(finding, line=line.name) for finding in found)


def _of_material(material: CheckMaterial, needed: bool, unused: str) -> tuple[Finding, ...]:
    name, radius = material.name, material.control_radius_mm
    if needed:
        found = material_findings(name) if radius is None else radius_findings(name, radius)
        return (*found, *poisson_findings(name, material.poisson_ratio))
    return () if radius is None else (note("control-radius-not-used", unused, field="control_radius_mm"),)


def _own_settings(request: CheckRequest) -> Iterator[Finding]:
    for line in request.lines:
        own = own_settings(line)
        if own:
            text = f"judged by {' and '.join(own)} of its own, not by those of the check"
            yield replace(note("own-settings", text, field=own[0]), line=line.name)


def _idle_settings(request: CheckRequest) -> Iterator[Finding]:
    """What the check gives and every line has for itself."""
    for name in OWN:
        if name in request.model_fields_set and all(name in own_settings(line) for line in request.lines):
            text = f"every line has {name} of its own: those of the check judge nothing"
            yield note("settings-not-used", text, field=name)


def _unit_loads(request: CheckRequest) -> tuple[Finding, ...]:
    """A label of 1 says nothing; any other may have been meant to divide the stresses, which it does not."""
    labels = {(line.unit_load.value, line.unit_load.unit) for line in request.lines if line.unit_load}
    if not labels or (len(labels) == 1 and next(iter(labels))[0] == 1.0):
        return ()
    listed = ", ".join(f"{as_given(value)} {unit}" for value, unit in sorted(labels))
    text = f"unit loads ({listed}) are labels: factors multiply the stresses of the cases as they are given"
    return (caution("unit-load-is-a-label", text, field="unit_load"),)
