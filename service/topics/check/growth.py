"""The growth part of a check: a crack that starts at a line, under the loading of the check."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from fatcore.check.complete import CheckOutcome, LineOutcome
from fatcore.check.growth_part import CrackStart, count_repeats, grow_from_station
from fatcore.check.line import WeldLine
from fatcore.check.loading import Loading
from fatcore.check.several import LineSettings
from fatcore.check.strength.resistance import Target
from fatcore.errors import InputError, at
from fatcore.findings import Finding, caution
from fatcore.outcome import evidence

from ...base.derive import call
from ..cracks.routes import GrowthAnswer
from ..one_repeat import service_life
from .lines import LineInput
from .models import CheckRequest, GrowthPart, StartedGrowthAnswer, one_repeat_of


def grow_crack(
    request: CheckRequest,
    lines: Sequence[WeldLine],
    loading: Loading,
    target: Target,
    settings: Sequence[LineSettings],
    outcome: CheckOutcome,
) -> tuple[dict[str, Any] | None, CheckOutcome]:
    """Values of the answer's growth part, None when the request has none, and the outcome with it."""
    part = request.growth
    if part is None:
        return None, outcome
    with at("growth"):
        if part.line not in {line.name for line in request.lines}:
            raise InputError(f"the request has no line {part.line!r}", "line")
        position = [line.name for line in request.lines].index(part.line)
        start = _start(part, request.lines[position], lines[position], outcome.lines[position])
        started = grow_from_station(start, loading, target, settings[position].condition, _metal(settings[position]))
    values = {name: getattr(started.grown, name) for name in GrowthAnswer.model_fields if name != "service_life"}
    values |= {name: getattr(started, name) for name in StartedGrowthAnswer.model_fields if hasattr(started, name)}
    values["line"] = part.line
    lives = started.life_repeats, started.repeats_asked
    values["service_life"] = service_life(one_repeat_of(request.loading), *lives)
    found = [replace(finding, line=part.line) for finding in started.findings]
    governing = outcome.lines[outcome.governing_line].name
    ground = replace(started, findings=(*found, *_elsewhere(part, governing)))
    counted = count_repeats(outcome, started, part.line)
    return values, replace(counted, **evidence(counted, ground))


def _metal(settings: LineSettings) -> str:
    """What the material is, by its family where that is given."""
    return str(settings.material.material_family or settings.material.name)


def _start(part: GrowthPart, line: LineInput, stressed: WeldLine, judged: LineOutcome) -> CrackStart:
    return call(
        CrackStart,
        part,
        element_size_mm=None if line.mesh is None else line.mesh.element_size_mm,
        shear_share=_shear_share(line, judged),
        # the first component of every basis is the one that opens
        opening_mpa={name: float(rows[judged.governing_index, 0]) for name, rows in stressed.cases.items()},
        basis=line.basis,
        distance_mm=np.array(part.path.distance_mm),
        path_mpa={name: np.array(values) for name, values in part.path.cases.items()},
    )


def _shear_share(line: LineInput, judged: LineOutcome) -> float:
    """Of the shear modes at the governing station; other bases tell no more than that nothing opens it."""
    at_station = judged.governing_index
    if line.basis != "peak-stress":
        return 1.0 if judged.equivalent_stress_mpa[at_station] == 0.0 else 0.0
    ratio = float(judged.biaxiality_ratio[at_station])
    return 1.0 if np.isinf(ratio) else ratio / (1.0 + ratio)


def _elsewhere(part: GrowthPart, governing_line: str) -> list[Finding]:
    if part.line == governing_line:
        return []
    text = f"the depth path belongs to line {part.line!r}, but {governing_line!r} governs"
    return [caution("path-of-another-line", text, field="line")]
