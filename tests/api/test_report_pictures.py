"""Every line of every picture of the example reports lies inside the axes where it is drawn."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import httpx
import numpy as np
import pytest

from .report_pages import FOLDER, PAGE
from .test_examples import EXAMPLES

figures = pytest.importorskip("matplotlib.figure")
SLACK = 1e-9
REPORTED = {"check", "cracks/growth", "spectrum/damage"}
DRAWN = [path for path in EXAMPLES if json.loads(path.read_text(encoding="utf-8"))["calculation"] in REPORTED]


def outside(axes: Any) -> list[str]:
    """Lines with a point left or right of the axes' middle part that is cut off above or below."""
    (left, right), (low, high) = sorted(axes.get_xlim()), sorted(axes.get_ylim())
    found = []
    for line in axes.lines:
        x, y = (np.asarray(each, dtype=float) for each in line.get_data(orig=False))
        if line.get_transform() == axes.get_yaxis_transform(which="grid"):  # a level, from side to side
            within = np.ones(y.shape, dtype=bool)
        elif line.get_transform() == axes.get_xaxis_transform(which="grid"):  # a place, from top to bottom
            y, within = np.clip(y, low, high), np.ones(y.shape, dtype=bool)
            if not (left <= x[0] <= right):
                found.append(f"{line.get_label()} at x = {x[0]:g}, axes {left:g} to {right:g}")
        else:
            within = (x >= left - SLACK * abs(left)) & (x <= right + SLACK * abs(right))
        shown = y[within & np.isfinite(y)]
        if not shown.size:
            found.append(f"{line.get_label()} is not to be seen")
        elif shown.min() < low - SLACK * abs(low) or shown.max() > high + SLACK * abs(high):
            found.append(f"{line.get_label()} {shown.min():g} to {shown.max():g}, axes {low:g} to {high:g}")
    return found


@pytest.fixture
def drawn(monkeypatch: pytest.MonkeyPatch) -> list[list[str]]:
    """What lies outside, a list for each picture that is drawn."""
    pictures: list[list[str]] = []
    save = figures.Figure.savefig

    def watched(self: Any, *given: Any, **more: Any) -> Any:
        saved = save(self, *given, **more)
        pictures.append([fault for axes in self.axes for fault in outside(axes)])
        return saved

    monkeypatch.setattr(figures.Figure, "savefig", watched)
    return pictures


@pytest.mark.parametrize("path", DRAWN, ids=lambda p: f"{p.parent.name}/{p.stem}")
def test_curves_and_limits_of_a_report_are_inside_its_axes(
    client: httpx.Client, drawn: list[list[str]], path: Path
) -> None:
    example = json.loads(path.read_text(encoding="utf-8"))
    answer = client.post(f"/v1/{example['calculation']}", json=example["request"], headers=PAGE)
    assert answer.status_code == 200, answer.text
    assert not [fault for picture in drawn for fault in picture]
    assert drawn or "<svg" not in answer.text


def test_a_line_outside_is_seen() -> None:
    axes = figures.Figure().add_subplot()
    axes.plot([0.0, 1.0, 2.0], [1.0, 2.0, 3.0], label="curve")
    axes.axhline(9.0, label="limit")
    assert not outside(axes)
    axes.set_ylim(0.0, 5.0)
    assert len(outside(axes)) == 1
    axes.set_ylim(0.0, 2.5)
    axes.set_xlim(0.0, 1.5)
    assert len(outside(axes)) == 1
    assert FOLDER.is_dir()
