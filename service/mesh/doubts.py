"""What the way from a mesh to a line leaves doubtful, carried into the check of that line."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace

from fatcore.figures import figure
from fatcore.findings import Finding, caution, outside
from fatcore.stress.weld_lines.solid.detect import WeldLines
from fatcore.stress.weld_lines.solid.lines import SolidLine

from .raw import RawMesh
from .stresses import LARGE_JUMP

_OPPOSITE = 1.0  # of the largest stress: its elements do not even agree in the sign, or several load steps are one case
_LONGEST = 1000  # characters of a message in a request
_LONG = 1.3  # across the line over the distance of its nodes
_NOTES = ("edges-left-out", "lines-end-on-plane")  # what else the one who signs must know


def doubts_by_line(
    found: WeldLines,
    lines: Sequence[SolidLine],
    dropped: Sequence[str],
    jumps: Mapping[int, float],
    raw: RawMesh,
    assumed: Sequence[Finding] = (),
) -> dict[str, tuple[Finding, ...]]:
    """Findings by line: of the whole mesh, of the search about this line, of lines dropped, of jumps at its nodes.

    lines   : under their names in the check; dropped: names of lines that are not checked
    jumps   : largest jump between elements by node, of the largest stress there, or none at all
    assumed : of every line, what was taken on faith of the arrays
    """
    names = {old.name: new.name for old in found.lines for new in lines if new.node_index is old.node_index}
    told = [finding for finding in found.findings if finding.severity != "note" or finding.code in _NOTES]
    common = (
        [caution("lines-dropped", f"lines of the mesh that are not checked: {', '.join(dropped)}")] if dropped else []
    )
    common += [replace(finding, message=finding.message[:_LONGEST]) for finding in assumed]
    return {
        line.name: (*_about(told, line.name, names), *common, *_long(line), *_jump(line, jumps, raw)) for line in lines
    }


def _about(told: Sequence[Finding], name: str, names: Mapping[str, str]) -> list[Finding]:
    """Findings that name this line, or none at all, with the lines under their names in the check."""
    kept = []
    for finding in told:
        mentioned = [old for old in names if re.search(rf"(?<![\w-]){re.escape(old)}(?![\w-])", finding.message)]
        if not mentioned or name in {names[old] for old in mentioned}:
            kept.append(_renamed(finding, names))
    return kept


def _renamed(finding: Finding, names: Mapping[str, str]) -> Finding:
    pattern = "|".join(map(re.escape, names))
    message = re.sub(rf"(?<![\w-])({pattern})(?![\w-])", lambda found: names[found[1]], finding.message)
    return replace(finding, message=message[:_LONGEST])


def _long(line: SolidLine) -> tuple[Finding, ...]:
    """Elements that are longer across the line than along it."""
    if line.across_mm <= _LONG * line.mesh_size_mm:
        return ()
    text = (
        f"elements of {figure(line.across_mm)} mm across the line, whose nodes are {figure(line.mesh_size_mm)} "
        "mm apart;"
        f" {figure(line.element_size_mm)} mm counts"
    )
    return (caution("elements-long-across", text),)


def _jump(line: SolidLine, jumps: Mapping[int, float], raw: RawMesh) -> tuple[Finding, ...]:
    """Where the elements at a node of the line disagree; no jumps are known of values that come by node."""
    if not jumps:
        return ()
    at = max(line.node_index.tolist(), key=jumps.__getitem__)
    jump = jumps[at]
    text = (
        f"the rows of node {int(raw.node_id[at])} differ by {figure(100.0 * jump)} % of the largest stress there; their"
        " mean is taken"
    )
    if jump > _OPPOSITE:
        return (outside("stresses-jump-large", text),)
    return (caution("stresses-jump", text),) if jump > LARGE_JUMP else ()
