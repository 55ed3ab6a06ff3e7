"""Prints a table of ratios: what was measured, against what, the limit; exit code 1 when one is missed."""

from __future__ import annotations

import importlib
import sys
from collections.abc import Sequence

TOPICS = ("stress", "curves", "spectrum", "cracks", "check")
Row = tuple[str, float, float, float, float]


def main(topics: Sequence[str]) -> int:
    """Runs the benchmarks of the topics, all of them when none is named."""
    missed = 0
    print(f"{'benchmark':<78} {'measured s':>11} {'against s':>11} {'ratio':>9} {'limit':>9}")
    for topic in topics or TOPICS:
        rows: list[Row] = importlib.import_module(f"tests.benchmarks.{topic}").rows()
        for name, measured, reference, ratio, limit in rows:
            ok = ratio <= limit
            missed += not ok
            mark = "" if ok else "  MISSED"
            figures = f"{measured:>11.4g} {reference:>11.4g} {ratio:>9.3g} {limit:>9.3g}"
            print(f"{topic + ': ' + name:<78} {figures}{mark}")
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
