"""Mutation run: how many small changes to code and tables the tests notice.

python -m tests.mutation --build-map              once, and after larger changes (a covered run of the suite)
python -m tests.mutation --topic curves           a sample of one topic, the same number for each operator
python -m tests.mutation --file fatcore/curves/corrections/thickness.py --sample 0     every mutant of a file
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
import tempfile
import tomllib
from collections.abc import Iterator
from pathlib import Path

from . import code_mutants, reach, report, table_mutants, trial
from .mutant import Mutant
from .selection import chosen

ROOT = Path(__file__).parents[2]
OPERATORS = (*code_mutants.OPERATORS, *table_mutants.OPERATORS)
NOT_CALCULATED = ("sources", "quantities", "findings")  # folders of data that only explain
_state: dict[str, object] = {}


def arguments() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m tests.mutation", description=__doc__)
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    parser.add_argument("--build-map", action="store_true", help="build the map of lines and tests anew")
    parser.add_argument("--topic", action="append", default=[], help="stress, curves, ..., gate, report, service")
    parser.add_argument("--file", action="append", default=[], help="path from the root of the tree")
    parser.add_argument("--operator", action="append", default=[], choices=OPERATORS)
    parser.add_argument("--tables", action="store_true", help="tables only")
    parser.add_argument("--sample", type=int, default=60, help="number of mutants, 0 for all (60)")
    parser.add_argument("--seed", type=int, default=1, help="of the sample (1)")
    parser.add_argument("--processes", type=int, default=1, choices=(1, 2), help="trials at a time (1)")
    parser.add_argument("--time-limit", type=float, default=240.0, help="seconds a mutant (240)")
    parser.add_argument("--list", action="store_true", help="show the chosen mutants, run nothing")
    return parser


def all_mutants(options: argparse.Namespace) -> Iterator[Mutant]:
    """The mutants of the files asked for; the verification cases are themselves tests and are left alone."""
    code = () if options.tables else (*ROOT.glob("fatcore/**/*.py"), *ROOT.glob("service/**/*.py"))
    for path in sorted((*code, *ROOT.glob("fatcore/data/*/*.toml"))):
        file = path.relative_to(ROOT).as_posix()
        if "verification" in path.parts or path.parent.name in NOT_CALCULATED:
            continue
        if options.file and file not in options.file:
            continue
        make = code_mutants.code_mutants if path.suffix == ".py" else table_mutants.table_mutants
        found = make(file, path.read_text(encoding="utf-8"))
        yield from (m for m in found if not options.topic or m.topic in options.topic)


def equivalents() -> set[tuple[str, str, str]]:
    """Changes that do not matter, each with its reason in `equivalents.toml`."""
    text = (Path(__file__).parent / "equivalents.toml").read_text(encoding="utf-8")
    return {(e["file"], e["before"], e["after"]) for e in tomllib.loads(text).get("equivalent", [])}


def start(folder: str, limit: float) -> None:
    """Each process of trials has its own copy of the tree."""
    tree, kept = trial.copy_tree(ROOT, Path(folder) / str(os.getpid())), reach.Reach.read(ROOT)
    _state.update(tree=tree, limit=limit, reach=kept)
    trial.preload()
    trial.check(tree, kept)


def one_trial(mutant: Mutant) -> trial.Outcome:
    return trial.try_out(mutant, _state["tree"], _state["reach"], _state["limit"])  # type: ignore[arg-type]


def main() -> int:
    options = arguments().parse_args()
    os.environ["OPENBLAS_NUM_THREADS"] = "1"
    if options.build_map or not (ROOT / reach.KEPT).exists():
        with tempfile.TemporaryDirectory(prefix="mutation-") as folder:
            reach.build(trial.copy_tree(ROOT, Path(folder).resolve()), ROOT, options.processes)
        if options.build_map:
            return 0
    known = equivalents()
    mutants = [m for m in all_mutants(options) if not options.operator or m.operator in options.operator]
    mutants = [m for m in mutants if m.key() not in known]
    sample = chosen(mutants, options.sample, options.seed)
    if options.list:
        print(*(report.described(m) for m in sample), sep="\n")
        return 0
    stale = {m.file for m in sample if reach.Reach.read(ROOT).is_stale(m) and m.file.endswith(".py")}
    if stale:
        print(f"{len(stale)} files are newer than the map: --build-map makes the run faster")
    outcomes = []
    with tempfile.TemporaryDirectory(prefix="mutation-") as folder:
        given = (str(Path(folder).resolve()), options.time_limit)
        with multiprocessing.get_context("fork").Pool(options.processes, start, given) as pool:
            for outcome in pool.imap_unordered(one_trial, sample):
                outcomes.append(outcome)
                print(report.line(outcome), flush=True)
    print(report.summary(outcomes, len(mutants)))
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
