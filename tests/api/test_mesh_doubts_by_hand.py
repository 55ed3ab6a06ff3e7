"""What of a mesh is doubtful for one line: findings, jumps and sizes written out by hand, at the edge of every rule."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fatcore.figures import figure
from fatcore.findings import Finding, caution, note, outside
from fatcore.outcome import evidence
from fatcore.stress.weld_lines.solid.detect import WeldLines
from fatcore.stress.weld_lines.solid.lines import SolidLine
from service.mesh.doubts import doubts_by_line
from service.mesh.raw import RawMesh
from tests.api.test_mesh_names_by_hand import a_line

TOES = (a_line("toe-1"), a_line("toe-11", first=10))


def found(*findings: Finding, lines: tuple[SolidLine, ...] = TOES) -> WeldLines:
    return WeldLines(lines=lines, left_out=(), **evidence(findings=findings))


def doubts(
    *findings: Finding,
    lines: tuple[SolidLine, ...] = TOES,
    dropped: tuple[str, ...] = (),
    jumps: dict[int, float] | None = None,
    first_id: int = 0,
) -> dict[str, list[tuple[str, str, str]]]:
    """Severity, code and message by line."""
    raw = RawMesh(points=np.zeros((40, 3)), cells=(), node_id=np.arange(40) + first_id, numbered="")
    known = dict.fromkeys(range(40), 0.0) | jumps if jumps else {}
    told = doubts_by_line(found(*findings), lines, dropped, known, raw)
    return {name: [(each.severity, each.code, each.message) for each in of_line] for name, of_line in told.items()}


def test_lines_without_doubts_have_none() -> None:
    assert doubts() == {"toe-1": [], "toe-11": []}


# what the search said


def test_cautions_and_left_limits_of_the_whole_mesh_are_about_every_line() -> None:
    told = doubts(caution("mesh-size-uneven", "invented"), outside("stresses-jump-large", "grave"))
    both = [("caution", "mesh-size-uneven", "invented"), ("outside", "stresses-jump-large", "grave")]
    assert told == {"toe-1": both, "toe-11": both}


@pytest.mark.parametrize(
    ("code", "kept"), [("edges-left-out", True), ("lines-end-on-plane", True), ("own-constant", False)]
)
def test_of_the_notes_those_go_along_that_may_hide_a_weld(code: str, kept: bool) -> None:
    assert [len(each) for each in doubts(note(code, "invented")).values()] == [int(kept)] * 2


def test_a_finding_that_names_lines_is_about_these() -> None:
    one = ("caution", "mesh-size-uneven", "toe-1: distances of 1 to 3 mm")
    other = ("caution", "mesh-size-uneven", "toe-11: distances of 1 to 4 mm")
    both = ("caution", "mesh-size-uneven", "toe-11 and toe-1 touch")
    told = doubts(*(caution(code, text) for _, code, text in (one, other, both)))
    assert told == {"toe-1": [one, both], "toe-11": [other, both]}


def test_lines_in_a_message_have_their_names_in_the_check() -> None:
    """A name within another word stays, and the new name of one line may be the old one of another."""
    lines = (replace(TOES[0], name="toe-11"), replace(TOES[1], name="weld (a)"))
    told = doubts(caution("mesh-size-uneven", "toe-1, toe-11, left-toe-1, toe-1-left"), lines=lines)
    text = "toe-11, weld (a), left-toe-1, toe-1-left"
    assert told == {name: [("caution", "mesh-size-uneven", text)] for name in ("toe-11", "weld (a)")}


def test_a_finding_that_names_a_line_out_of_the_check_alone_is_about_every_line() -> None:
    told = doubts(caution("mesh-size-uneven", "toe-1: invented"), lines=TOES[1:])
    assert told == {"toe-11": [("caution", "mesh-size-uneven", "toe-1: invented")]}


@pytest.mark.parametrize(("length", "kept"), [(1000, 1000), (1001, 1000), (4000, 1000)])
def test_messages_end_where_a_request_takes_no_more(length: int, kept: int) -> None:
    assert [len(text) for _, _, text in doubts(caution("mesh-size-uneven", "m" * length))["toe-1"]] == [kept]


def test_dropped_lines_are_named_in_every_line() -> None:
    expected = ("caution", "lines-dropped", "lines of the mesh that are not checked: root-1, toe-7")
    assert doubts(dropped=("root-1", "toe-7")) == {"toe-1": [expected], "toe-11": [expected]}


# elements longer across than along


@pytest.mark.parametrize(("across", "told"), [(1.3, False), (1.301, True)])
def test_elements_are_long_across_beyond_thirteen_tenths_of_the_distance_of_nodes(across: float, told: bool) -> None:
    line = a_line("toe-1", across_mm=across, element_size_mm=9.0)
    text = "elements of 1.30 mm across the line, whose nodes are 1 mm apart; 9 mm counts"
    assert doubts(lines=(line,)) == {"toe-1": [("caution", "elements-long-across", text)] if told else []}


def test_long_elements_are_measured_by_the_distance_of_the_nodes_of_their_line() -> None:
    line = a_line("toe-1", size=4.0, across_mm=5.1)
    assert doubts(lines=(line,)) == {"toe-1": []}
    assert len(doubts(lines=(replace(line, across_mm=5.3),))["toe-1"]) == 1


# jumps between the elements at a node


@pytest.mark.parametrize(
    ("jump", "severity", "code"),
    [
        (0.5, None, None),
        (0.502, "caution", "stresses-jump"),
        (1.0, "caution", "stresses-jump"),
        (1.005, "outside", "stresses-jump-large"),
    ],
)
def test_a_jump_is_doubtful_beyond_half_of_the_largest_stress_and_grave_beyond_all_of_it(
    jump: float, severity: str | None, code: str | None
) -> None:
    text = f"the rows of node 103 differ by {figure(100.0 * jump)} % of the largest stress there; their mean is taken"
    told = doubts(jumps={3: jump}, first_id=100)
    assert told == {"toe-1": [] if code is None else [(severity, code, text)], "toe-11": []}


def test_the_largest_jump_of_a_line_is_told_with_its_node() -> None:
    told = doubts(jumps={1: 0.6, 2: 0.9, 4: 0.7, 12: 0.55, 39: 2.0}, first_id=1)
    assert [text.split(" % ")[0] for _, _, text in told["toe-1"]] == ["the rows of node 3 differ by 90"]
    assert [text.split(" % ")[0] for _, _, text in told["toe-11"]] == ["the rows of node 13 differ by 55"]


def test_doubts_of_a_line_come_in_one_order() -> None:
    line = a_line("toe-1", across_mm=2.0)
    told = doubts(caution("mesh-size-uneven", "invented"), lines=(line,), dropped=("root-1",), jumps={0: 0.8})
    assert [code for _, code, _ in told["toe-1"]] == [
        "mesh-size-uneven",
        "lines-dropped",
        "elements-long-across",
        "stresses-jump",
    ]
