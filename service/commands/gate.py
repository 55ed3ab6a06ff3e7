"""toeline gate: keeps a design from getting worse, for the pipelines of its repository."""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Mapping
from contextlib import ExitStack, contextmanager
from datetime import UTC, datetime
from pathlib import Path

from fatcore.figures import counted

from ..base import progress
from ..base.forms.printable import printable
from ..base.problems import Problem
from ..client.exit_codes import PASSED
from ..files.locking import locked
from ..files.writing import replace_file
from ..gate import accept, baseline, gate, pages
from ..gate.baseline import Baseline, key_of
from ..gate.files import Found, find
from ..gate.forms.junit import junit_xml
from ..gate.forms.markdown import markdown_text
from ..gate.forms.text import json_text, terminal_text
from ..gate.gate import Prepare, unchanged
from ..gate.parts import Asked, asked_of, merged_parts, part_text
from ..gate.result import GateResult, Limits
from ..jobs.in_order import Each
from ..jobs.shard import Shard
from .fits.fitted import add_fitted, in_checks
from .remote import add_jobs, add_server, connect, workers
from .shared import write_bytes, write_text
from .sharing import add_parts, chosen_shard, guard_parts
from .texts.files import guard_read
from .texts.help import EXIT_CODES, Commands, add_command
from .texts.parser import FileBeside, InputFile, decimal
from .texts.telling import tell
from .texts.under_policy import add_policy

DEFAULT = Limits()


def add(commands: Commands) -> None:
    """Adds the command gate."""
    examples = (
        "gate checks/ --baseline checks/accepted.json --write-baseline",
        "gate checks/ --baseline checks/accepted.json --junit gate.xml --markdown gate.md",
        'gate checks/ --baseline accepted.json --accept bracket:R1_toe --because "rib moved"',
    )
    text = "judge check files against a limit and a baseline"
    parser = add_command(commands, "gate", text, examples, ending=f"{EXIT_CODES}, 3 the service gave no answer")
    parser.add_argument(
        "checks", type=InputFile, nargs="+", help="check files, folders of them, or patterns", metavar="CHECK"
    )
    limit = "largest utilisation that passes (default 1)"
    parser.add_argument("--limit", type=decimal, default=DEFAULT.utilisation, metavar="U", help=limit)
    _add_baseline(parser)
    parser.add_argument("--junit", type=FileBeside, metavar="FILE", help="write JUnit XML, one test case a weld line")
    parser.add_argument("--markdown", type=FileBeside, metavar="FILE", help="write a summary for a merge request")
    words = "write the report (HTML) of every check that does not pass into this folder, and take former ones away"
    parser.add_argument("--reports", metavar="DIR", help=words)
    parser.add_argument("--json", action="store_true", help="print the result as JSON")
    parser.add_argument("--stamp", action="store_true", help="write the time of the run into the JUnit file")
    add_server(parser)
    add_jobs(parser)
    add_parts(parser)
    add_fitted(parser)
    add_policy(parser)
    parser.set_defaults(run=_gate)


def _add_baseline(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--baseline", type=InputFile, metavar="FILE", help="stored state to compare with, or to write")
    parser.add_argument(
        "--growth-pct",
        type=decimal,
        default=DEFAULT.growth_pct,
        metavar="X",
        help="a utilisation may grow by this share against the baseline, in %% (default 0)",
    )
    parser.add_argument(
        "--growth-floor",
        type=decimal,
        default=DEFAULT.growth_floor,
        metavar="U",
        help="growth up to this utilisation is reported only (default 0.5)",
    )
    parser.add_argument(
        "--write-baseline",
        action="store_true",
        help="store this state in the baseline; nothing is erased, and what fails replaces nothing",
    )
    parser.add_argument(
        "--accept",
        action="append",
        default=[],
        metavar="CHECK[:LINE]",
        help="store growth, changed rules or vanished lines of this check or line as accepted",
    )
    parser.add_argument(
        "--because",
        metavar="TEXT",
        help="the reason of --accept, or of --write-baseline where a rule changed; kept and shown",
    )
    parser.add_argument("--accept-vanished", action="store_true", help="pass although lines of the baseline are gone")


def _gate(given: argparse.Namespace) -> int:
    limits = Limits(
        utilisation=given.limit,
        growth_pct=given.growth_pct,
        growth_floor=given.growth_floor,
        accept_vanished=given.accept_vanished,
    )
    _guard(given)
    guard_parts(given)
    if given.merge:
        return _merge(given)
    if given.reports is not None:
        pages.prepare_folder(Path(given.reports))
    with locked(*_written(given)):
        return _run(given, limits)


def _written(given: argparse.Namespace) -> Iterator[Path]:
    """What the run writes besides the files that its options are for."""
    if (given.write_baseline or given.accept) and given.part is None:
        yield Path(given.baseline)
    if given.reports is not None:
        yield Path(given.reports) / "reports"


def _run(given: argparse.Namespace, limits: Limits) -> int:
    stored = _stored(given)
    shard = chosen_shard(given)
    every, folder = _found(given, stored)
    guard_read(given, every.checks)
    asked, found = _asked(given, every, folder), _part_of(every, folder, shard)
    prepare = in_checks(given.fitted, found.checks, whole=shard is None) or unchanged
    answers = _answers(given, found, folder, prepare)
    result = gate.judge(answers, limits, stored, shard)
    if stored is not None and (given.write_baseline or given.accept):
        result = _store(given, limits, stored, answers, result, asked)
    if given.reports is not None:
        result = _with_pages(given, result, {key_of(path, folder): path for path in found.checks}, prepare)
    _write(given, result)
    if given.json:
        write_bytes(json_text(result).encode(), None)
    else:
        write_text(terminal_text(printable(result)))
    return result.exit_code


def _guard(given: argparse.Namespace) -> None:
    needing = [
        f"--{name.replace('_', '-')}"
        for name in ("write_baseline", "growth_pct", "accept", "accept_vanished")
        if getattr(given, name)
    ]
    if given.baseline is None and needing:
        raise Problem(400, f"{' and '.join(needing)} {'needs' if len(needing) == 1 else 'need'} --baseline FILE")
    if given.accept and given.write_baseline:
        raise Problem(400, "--accept and --write-baseline do not go together: name what is accepted")
    if given.accept and given.because is None:
        raise Problem(400, "--accept CHECK[:LINE] needs --because TEXT")
    if given.because is not None and not (given.accept or given.write_baseline):
        raise Problem(400, "--because TEXT goes with --accept CHECK[:LINE] or --write-baseline")


def _stored(given: argparse.Namespace) -> Baseline | None:
    if given.baseline is None:
        return None
    path = Path(given.baseline)
    if given.write_baseline and not path.exists():
        return Baseline(folder=path.parent)
    return baseline.read(path)


def _found(given: argparse.Namespace, stored: Baseline | None) -> tuple[Found, Path]:
    """The check files, and the folder that their names are seen from."""
    path = None if given.baseline is None else Path(given.baseline)
    found = find(given.checks, path, () if stored is None else stored.checks)
    return found, Path() if stored is None else stored.folder


def _part_of(found: Found, folder: Path, shard: Shard | None) -> Found:
    """The check files of a part."""
    if shard is None:
        return found
    return Found((each for each in found.checks if shard.holds(key_of(each, folder))), found.skipped)


def _asked(given: argparse.Namespace, found: Found, folder: Path) -> Asked | None:
    """What the run is asked, where it stores a part; before anything is calculated."""
    if given.part is None:
        return None
    options = {name: getattr(given, name) for name in ("limit", "growth_pct", "growth_floor", "because")}
    checks = {key_of(path, folder): path for path in found.checks}
    return asked_of(checks, [Path(name) for name in given.fitted], options)


@contextmanager
def calculating(given: argparse.Namespace, tasks: int) -> Iterator[tuple[gate.Calculate, Each]]:
    """What calculates so many checks, here or at a service, and how they are worked off."""
    with ExitStack() as stack:
        calculate = gate.calculate_here
        if given.server is not None:
            client = stack.enter_context(connect(given))
            calculate = lambda request: client.check(request).model_dump(mode="json")  # noqa: E731
        yield calculate, stack.enter_context(workers(given, tasks))


def _answers(given: argparse.Namespace, found: Found, folder: Path, prepare: Prepare) -> gate.Answers:
    with calculating(given, len(found.checks)) as (calculate, each), progress.show_progress():
        finished = progress.listener(len(found.checks)) or _ignore
        return gate.ask_checks(found, calculate, folder, finished, each, prepare)


def _with_pages(
    given: argparse.Namespace, result: GateResult, paths: Mapping[str, Path], prepare: Prepare
) -> GateResult:
    with calculating(given, max(1, sum(not check.passed for check in result.checks))) as (calculate, each):
        return pages.write_pages(Path(given.reports), result, paths, calculate, each, prepare)


def _ignore(_: int) -> None:
    """Nobody watches the progress."""


def _store(
    given: argparse.Namespace,
    limits: Limits,
    stored: Baseline,
    answers: gate.Answers,
    result: GateResult,
    asked: Asked | None,
) -> GateResult:
    """Writes the baseline, and judges the run against what was written."""
    if not answers.whole:
        tell("toeline: the baseline was not written, since a check has no answer")
        return result
    because = None if given.because is None else baseline.reason(given.because)
    if given.accept:
        accepted = accept.accepted(stored, answers, result, given.accept, str(because))
        replace_file(Path(given.baseline), baseline.text_of(accepted).encode())
        return gate.judge(answers, limits, accepted)
    merged = accept.merged(stored, answers, result, because)
    shard = chosen_shard(given)
    if shard is None or asked is None:
        replace_file(Path(given.baseline), baseline.text_of(merged.baseline).encode())
    else:
        text = part_text(shard, stored, merged.baseline, answers.policies, asked)
        replace_file(Path(given.part), text.encode())
    notes = [*accept.overwritten(result, merged.kept)]
    if because is not None and merged.baseline.accepted == stored.accepted:
        notes.append("the reason was not kept: nothing that was stored needs one")
    return accept.with_notes(gate.judge(answers, limits, merged.baseline, shard), merged, notes)


def _merge(given: argparse.Namespace) -> int:
    """Puts the parts of a baseline into it."""
    path = Path(given.baseline)
    with locked(path):
        stored = baseline.read(path) if path.exists() else Baseline(folder=path.parent)
        whole = merged_parts([Path(name) for name in given.checks], stored)
        replace_file(path, baseline.text_of(whole).encode())
    write_text(f"{path}: {counted(len(whole.checks), 'check')} of {counted(len(given.checks), 'part')}")
    return PASSED


def _write(given: argparse.Namespace, result: GateResult) -> None:
    if given.junit:
        stamp = datetime.now(UTC).isoformat(timespec="seconds") if given.stamp else None
        _write_file(given.junit, junit_xml(result, stamp=stamp))
    if given.markdown:
        links = {key: key_of(Path(path), Path(given.markdown).parent) for key, path in result.pages.items()}
        _write_file(given.markdown, markdown_text(result, elsewhere=_elsewhere(given), links=links))


def _elsewhere(given: argparse.Namespace) -> str:
    """Where everything is that a short form leaves out."""
    return f"the JUnit file {Path(given.junit).name[:80]}" if given.junit else "what the run prints"


def _write_file(path: str, text: str) -> None:
    # line ends as they are, so that every system writes the same bytes
    replace_file(Path(path), text.encode("utf-8"))
