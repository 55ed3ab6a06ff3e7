"""Weld lines of a large mesh, against the bare numpy work that any search has to do: the faces that occur once."""

from __future__ import annotations

from functools import partial

import numpy as np

from fatcore.stress.weld_lines.solid.detect import find_weld_lines
from fatcore.stress.weld_lines.solid.mesh import SolidMesh
from service.base.envelope import evaluate
from service.mesh.files import read_mesh_file
from service.mesh.layout import read_mesh_map
from service.mesh.mapping import map_mesh
from service.report.renderers import render
from service.topics.registry import find
from tests.benchmarks.stress import Row, best_in_turn
from tests.shapes.files import FOLDER
from tests.shapes.sweep import section, straight, swept

TEE = [(-40.0, -10.0), (40.0, -10.0), (40.0, 0.0), (11.0, 0.0), (5.0, 6.0), (5.0, 30.0), (-5.0, 30.0)]
TEE += [(-5.0, 6.0), (-11.0, 0.0), (-40.0, 0.0)]
NODES = 250_000
LIMIT_S = 3.0
REPORT_S = 5.0


def outer_faces(mesh: SolidMesh) -> object:
    """Faces of tetrahedra that occur once, by a sort of their corners."""
    corners = mesh.element_blocks[0].nodes[:, [[0, 1, 2], [0, 1, 3], [1, 2, 3], [0, 2, 3]]].reshape(-1, 3)
    return np.unique(np.sort(corners, axis=1), axis=0, return_counts=True)[1] == 1


def from_file_to_report() -> object:
    """A solid model of 24,000 nodes with two load cases, read, mapped, checked and laid out as a page."""
    raw = read_mesh_file(str(FOLDER / "stiffener-tet10.vtu"))
    request = map_mesh(raw, read_mesh_map((FOLDER / "lines.toml").read_text(encoding="utf-8"))).request
    check = find("check")
    assert check is not None
    found = evaluate(check, request)
    return render("check", found.request, found.envelope())


def rows() -> list[Row]:
    """Name, measured, reference, ratio and limit of each comparison; seconds."""
    points, triangles = section(TEE, 1.0)
    mesh = swept(points, triangles, np.arange(0.0, 31.0, 1.0), element="tet10", place=straight)
    assert len(mesh.points_mm) > NODES
    bare, ours = best_in_turn(partial(outer_faces, mesh), partial(find_weld_lines, mesh), repeats=3)
    (report,) = best_in_turn(from_file_to_report, repeats=3)
    name = f"weld lines of {len(mesh.points_mm):,} nodes, {mesh.element_total:,} tet10"
    return [
        (f"{name}, against the outer faces alone", ours, bare, ours / bare, 5.0),
        (f"{name}, against {LIMIT_S:g} s", ours, LIMIT_S, ours / LIMIT_S, 1.0),
        (
            f"from a VTU file to the report of its check, against {REPORT_S:g} s",
            report,
            REPORT_S,
            report / REPORT_S,
            1.0,
        ),
    ]
