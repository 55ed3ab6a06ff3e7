"""Free room of a view for its texts: what is drawn costs, texts are worst."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from fatcore.require import FloatArray

Box = tuple[float, float, float, float]  # left, top, width, height
PART, WELD, TEXT = 1.0, 60.0, 400.0
_FAR = 2e-4  # a pixel of distance: of two free boxes the nearer


@dataclass(frozen=True, slots=True)
class Room:
    """What each pixel of a view costs to write over (rows, columns)."""

    cost: FloatArray

    def weld(self, points_px: FloatArray) -> None:
        """Weld lines along points at most 3 px apart (n, 2), and a little beside them."""
        rows, columns = self.cost.shape
        for x, y in ((-2, -2), (2, -2), (-2, 2), (2, 2), (0, 0)):
            row = np.clip((points_px[:, 1] + y).astype(np.intp), 0, rows - 1)
            column = np.clip((points_px[:, 0] + x).astype(np.intp), 0, columns - 1)
            self.cost[row, column] = np.maximum(self.cost[row, column], WELD)

    def take(self, box: Box) -> None:
        """A text stands here."""
        self.cost[self._part(box)] += TEXT

    def price(self, box: Box, part: float = PART) -> float:
        """Mean cost under a box, infinite outside; part: what the part itself costs."""
        rows, columns = self.cost.shape
        if box[0] < 0.0 or box[1] < 0.0 or box[0] + box[2] > columns or box[1] + box[3] > rows:
            return np.inf
        under = self.cost[self._part(box)]
        return float(np.where(under == PART, part, under).mean())

    def best(self, boxes: Iterable[Box], near: tuple[float, float], part: float = PART) -> tuple[Box | None, float]:
        """The cheapest box and its price; of equal ones the nearest to a place."""
        priced = [(self.price(box, part) + _FAR * _distance(box, near), box) for box in boxes]
        price, box = min(priced, default=(np.inf, None))
        return (box, price) if np.isfinite(price) else (None, np.inf)

    def _part(self, box: Box) -> tuple[slice, slice]:
        left, top, width, height = box
        return slice(max(int(top), 0), int(top + height) + 1), slice(max(int(left), 0), int(left + width) + 1)


def _distance(box: Box, place: tuple[float, float]) -> float:
    return float(np.hypot(box[0] + box[2] / 2.0 - place[0], box[1] + box[3] / 2.0 - place[1]))
