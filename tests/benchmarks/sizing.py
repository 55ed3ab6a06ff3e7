"""How many of each kind of work one core does, where it is computed, and what memory it takes: the table for sizing.

`python -m tests.benchmarks sizing` prints it as it stands in the guide for operators; it has no limits.
"""

from __future__ import annotations

import json
import resource
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from fatcore.figures import figure
from service.base.common import Calculation
from service.base.envelope import calculated, validated
from service.base.parsing import strict_json
from service.http.tasks import LIGHT_BYTES, LIGHT_S, cost_of, warm
from service.topics.registry import load

EXAMPLES = Path(__file__).parents[2] / "openapi_examples"
HISTORY = 1_000_000
KINDS = {
    "look-up of lives": "curves/lives-corrected",
    "peak stress of one point": "stress/peak-root",
    "damage of blocks": "spectrum/damage-blocks",
    "check of one line": "check/one-toe-constant",
    "growth, tabled intensity": "cracks/growth-tabled",
    "fitted line": "trials/sn-line-hanger",
    "check of twelve lines, three blocks": "check/bracket-hanger",
    "growth at a toe, load shared": "cracks/growth-bracket-toe-shared",
    "section": "stress/section-bracket-one-side",
    "scattered lives": "cracks/scatter-toe-crack",
    f"cycles of {HISTORY:,} samples": "history",
}


def body_of(example: str) -> tuple[str, bytes]:
    """Calculation and body of a kind of work."""
    if example == "history":
        history = [k * 7919 % 1000 + 0.125 for k in range(HISTORY)]
        return "spectrum/cycles", json.dumps({"history_mpa": history, "residue": "closed"}).encode()
    shown = json.loads((EXAMPLES / f"{example}.json").read_text(encoding="utf-8"))
    return shown["calculation"], json.dumps(shown["request"]).encode()


def answered(calculation: Calculation, body: bytes) -> Any:
    """All that is done for one request: reading, calculation, writing."""
    request = validated(calculation, strict_json(body))
    calculated(calculation, request).content()
    return request


def measured(example: str) -> tuple[str, float, float]:
    """Lane, CPU seconds of one, and the most memory it takes besides the program [MiB], in this process."""
    name, body = body_of(example)
    calculation = load()["POST", name]
    warm()
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    request = answered(calculation, body)
    taken = (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024.0
    light = len(body) <= LIGHT_BYTES and cost_of(calculation, request).seconds < LIGHT_S
    return "server" if light else "worker", min(_cpu_s(calculation, body) for _ in range(5)), taken


def _cpu_s(calculation: Calculation, body: bytes) -> float:
    begun = time.process_time()
    answered(calculation, body)
    return time.process_time() - begun


def table() -> Iterator[str]:
    """The table, line by line; each kind of work in a process of its own."""
    yield "| work | computed by | ms of a core | a second and core | MiB besides the program |"
    yield "|---|---|---:|---:|---:|"
    for words, example in KINDS.items():
        command = [sys.executable, "-m", __name__, example]
        found = subprocess.run(command, capture_output=True, text=True, check=True).stdout.split()
        seconds, taken = float(found[1]), float(found[2])
        yield f"| {words} | {found[0]} | {1e3 * seconds:.3g} | {figure(1.0 / seconds, 2)} | {taken:.0f} |"


def rows() -> list[tuple[str, float, float, float, float]]:
    """Prints the table; nothing of it has a limit."""
    for line in table():
        print(line, flush=True)
    return []


if __name__ == "__main__":
    print(*measured(sys.argv[1]))
