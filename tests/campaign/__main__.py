"""A campaign against the application in this process: `python -m tests.campaign --drawn 20000 --mutated 10000`.

Prints what is wrong, what took long, and how many cases ended with which status; exit code 1 for anything wrong.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from functools import partial

from .run import KINDS, Outcome, watched


def main() -> int:
    """Runs the campaign that the arguments ask for."""
    parser = argparse.ArgumentParser(prog="python -m tests.campaign", description=__doc__)
    parser.add_argument("--drawn", type=int, default=20_000, metavar="N", help="requests of schema and examples")
    parser.add_argument("--mutated", type=int, default=10_000, metavar="N", help="bodies with bytes changed")
    parser.add_argument("--seed", type=int, default=1, metavar="N")
    parser.add_argument("--first", type=int, default=0, metavar="N", help="number of the first case")
    parser.add_argument("--processes", type=int, default=2, metavar="N")
    parser.add_argument("--slow-s", type=float, default=2.0, metavar="S", help="tell what takes longer")
    parser.add_argument("--longest-s", type=float, default=40.0, metavar="S", help="no answer may take longer")
    given = parser.parse_args()
    statuses: Counter[str] = Counter()
    wrong = 0
    one = partial(_part, seed=given.seed, slow_s=given.slow_s, longest_s=given.longest_s)
    with ThreadPoolExecutor(given.processes) as pool:
        for kind in KINDS:
            places = range(given.first, given.first + getattr(given, kind))
            parts = [places[start :: given.processes] for start in range(given.processes)]
            for found in pool.map(partial(one, kind), parts):
                statuses.update(f"{each.kind} {each.status}" for each in found)
                wrong += sum(bool(each.fault) for each in found)
    for name, number in sorted(statuses.items()):
        print(f"{number:>8} {name}")
    print(f"{wrong:>8} wrong")
    return 1 if wrong else 0


def _part(kind: str, places: range, *, seed: int, slow_s: float, longest_s: float) -> list[Outcome]:
    """The cases of one process, what is wrong or slow told as it comes."""
    found = []
    for each in watched(kind, seed, places, longest_s):
        found.append(each)
        if each.fault or each.status >= 500 or each.seconds > slow_s:
            fault = each.fault or ("slow" if each.seconds > slow_s else "not answered")
            print(f"{each.kind} {each.place} {each.name}: {each.status}, {each.seconds:.1f} s, {fault}", flush=True)
    return found


if __name__ == "__main__":
    sys.exit(main())
