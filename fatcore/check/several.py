"""One check of lines that differ in curves, material or condition: each line as if it were checked by itself."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Annotated

import numpy as np
from annotated_types import Len

from fatcore.bounds import guard, guarded
from fatcore.check.complete import STEEL, CheckOutcome, check_lines, guard_names
from fatcore.check.findings import lines as remarks
from fatcore.check.findings.choices import ONE_PASS
from fatcore.check.line import Material, WeldLine
from fatcore.check.loading import Loading
from fatcore.check.stations import Progress, first_largest
from fatcore.check.strength.resistance import Resistance, Target
from fatcore.check.verdict import check_verdict, find_deciding_lines
from fatcore.cracks.driving.ranges import Condition
from fatcore.errors import FatcoreError, InputError
from fatcore.findings import Finding
from fatcore.outcome import evidence
from fatcore.stress.notch.energy_coefficients import CoefficientChoice

# what `check_lines` says of the governing point only
_OF_GOVERNING_POINT = frozenset({ONE_PASS, "cycle-definitions-differ", "not-proportional", "path-count-left-out"})


@dataclass(frozen=True, slots=True, kw_only=True)
class LineSettings:
    """What lines are judged by.

    curves_path : where the request gives the curves, for errors
    """

    resistance: Resistance
    material: Material = STEEL
    condition: Condition = "as-welded"
    curves_path: tuple[str | int, ...] = ("curves",)

    def __post_init__(self) -> None:
        guard(self)


@guarded
def check_lines_apart(
    lines: Annotated[Sequence[WeldLine], Len(1)],
    loading: Loading,
    settings: Annotated[Sequence[LineSettings], Len(1)],
    target: Target,
    *,
    coefficients: CoefficientChoice = "exact",
    progress: Progress | None = None,
) -> CheckOutcome:
    """Checks weld lines under one loading, each by its own curves, material and condition.

    Lines of the same settings object are checked together by `check_lines`; what that finds on all of them, and
    not on the others, is said of each of these lines. The governing line is the one with the largest utilisation,
    whatever its curve; the single values and the damage limit are those of its point.

    settings : of every line
    Raises   : as `check_lines`
    """
    guard_names(lines)
    if len(settings) != len(lines):
        raise InputError(f"{len(settings)} settings are given for {len(lines)} lines", "settings")
    groups = _grouped(settings)
    parts = []
    for places in groups:
        used = settings[places[0]]
        try:
            part = check_lines(
                [lines[place] for place in places],
                loading,
                used.resistance,
                target,
                material=used.material,
                condition=used.condition,
                coefficients=coefficients,
                progress=progress,
            )
        except FatcoreError as error:
            error.path = _path_of(error.path, places, used)
            raise
        parts.append(part)
    return parts[0] if len(parts) == 1 else _together(groups, parts)


def _grouped(settings: Sequence[LineSettings]) -> list[list[int]]:
    """Places of the lines of each settings object, in order of appearance."""
    groups: dict[int, list[int]] = {}
    for place, each in enumerate(settings):
        groups.setdefault(id(each), []).append(place)
    return list(groups.values())


def _path_of(path: tuple[str | int, ...], places: Sequence[int], used: LineSettings) -> tuple[str | int, ...]:
    """Path of an error among all lines of the request."""
    if path[:1] == ("lines",) and len(path) > 1:
        return ("lines", places[int(path[1])], *path[2:])
    return (*used.curves_path, *path[1:]) if path[:1] == ("curves",) else path


def _together(groups: Sequence[Sequence[int]], parts: Sequence[CheckOutcome]) -> CheckOutcome:
    pairs = [(places[part.governing_line], part) for places, part in zip(groups, parts, strict=True)]
    pairs.sort(key=lambda pair: pair[0])
    place, worst = pairs[first_largest(np.array([part.utilisation for _, part in pairs]))]
    found = {
        at: line
        for places, part in zip(groups, parts, strict=True)
        for at, line in zip(places, part.lines, strict=True)
    }
    lines = tuple(found[at] for at in sorted(found))
    verdicts = {line.name: line.verdict for line in lines}
    verdict = check_verdict(verdicts.values())
    doubtful = [line.name for at, line in found.items() if line.verdict == "undecided" and at != place]
    return replace(
        worst,
        verdict=verdict,
        deciding_lines=find_deciding_lines(verdicts, verdict),
        governing_line=place,
        lines=lines,
        **evidence(
            findings=[*_findings(parts), *remarks.of_undecided(doubtful)],
            sources=[key for part in parts for key in part.sources],
            tables=[name for part in parts for name in part.tables],
        ),
    )


def _findings(parts: Sequence[CheckOutcome]) -> Iterator[Finding]:
    """Those of every line; those that all parts have once; others by the lines of their part."""
    shared = set.intersection(*(set(part.findings) for part in parts))
    yield from (finding for finding in parts[0].findings if finding in shared)
    for part in parts:
        for finding in part.findings:
            if finding in shared or finding.code == remarks.OTHERS_UNDECIDED:
                continue
            if finding.line is not None:
                yield finding
                continue
            governing = part.lines[part.governing_line].name
            names = [governing] if finding.code in _OF_GOVERNING_POINT else [line.name for line in part.lines]
            yield from (replace(finding, line=name) for name in names)
