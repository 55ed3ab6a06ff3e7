"""Statuses of problems: those of the table alone, and each rare one in the module that it belongs to."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

from service.base.problems import TITLES

SERVICE = Path(__file__).parents[2] / "service"
EVERYWHERE = {400, 404, 413, 415, 422}
ONLY_IN = {
    "access/access.py": {401},
    "access/scopes.py": {403},
    "access/teams.py": {429},
    "http/answering.py": {406},
    "http/admission.py": {408},
    "pool/places.py": {503},
    "pool/lanes.py": {503},
    "pool/worker.py": {503},
    "http/pages.py": {503},
    "http/metrics.py": {503},
    "base/forms/other_units.py": {503},
    "http/middleware.py": {405, 503},
    "http/batch.py": {503},
    "base/problems.py": {500},
    "report/renderers.py": {503},
    "mesh/files.py": {503},
    "jobs/in_order.py": {500},
    "jobs/cluster.py": {500, 503},
    "http/app.py": {404, 405, 500, 503},
}


def statuses() -> Iterator[tuple[str, int]]:
    """Module and status of every problem that is raised with a literal."""
    for path in SERVICE.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "Problem":
                first = node.args[0] if node.args else None
                if isinstance(first, ast.Constant) and isinstance(first.value, int):
                    yield path.relative_to(SERVICE).as_posix(), first.value


def test_every_problem_has_a_status_of_its_module() -> None:
    found = list(statuses())
    assert len(found) > 50
    assert {status for _, status in found} <= set(TITLES)
    wrong = [(module, status) for module, status in found if status not in EVERYWHERE | ONLY_IN.get(module, set())]
    assert not wrong
