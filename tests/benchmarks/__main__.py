"""Prints a table of ratios: what was measured, against what, the limit; exit code 1 when one is missed.

Each topic runs in a process of its own, so that one's memory does not count for the next.
"""

from __future__ import annotations

import importlib
import subprocess
import sys
from collections.abc import Sequence

TOPICS = ("stress", "mesh", "curves", "spectrum", "cracks", "check", "trials", "jobs", "service", "sizing")
Row = tuple[str, float, float, float, float]


def main(topics: Sequence[str]) -> int:
    """Runs the benchmarks of the topics, all of them when none is named."""
    if len(topics) == 1:
        return one_topic(topics[0])
    print(f"{'measured':>11} {'against':>11} {'ratio':>9} {'limit':>7}          benchmark", flush=True)
    codes = [subprocess.run([sys.executable, "-m", __spec__.parent, topic]).returncode for topic in topics or TOPICS]
    return 1 if any(codes) else 0


def one_topic(topic: str) -> int:
    """Runs the benchmarks of one topic in this process."""
    missed = 0
    rows: list[Row] = importlib.import_module(f"tests.benchmarks.{topic}").rows()
    for name, measured, reference, ratio, limit in rows:
        ok = ratio <= limit
        missed += not ok
        figures = f"{measured:>11.4g} {reference:>11.4g} {ratio:>9.3g} {limit:>7.3g}"
        print(f"{figures} {'' if ok else 'MISSED':>8} {topic}: {name}", flush=True)
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
