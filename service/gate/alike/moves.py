"""Which check of before a file is that the baseline does not know by its path: renamed, or moved."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from fatcore.alike import as_read

from ..baseline import StoredCheck
from ..result import Answered
from .locations import NOTHING_LOST, Former, Lost
from .pattern import near, sorted_figures

HALF = 0.5  # share of its lines by which a check is known again


@dataclass(frozen=True, slots=True)
class Origin:
    """What a check is compared with where the baseline does not know its path or some of its lines.

    check   : the check that the file was, None where it is known by its path or by nothing; key: its path
    formers : lines of it that are checked no more and may go by other names now
    lost    : lines of all other checks that are checked no more
    """

    check: StoredCheck | None = None
    key: str = ""
    formers: tuple[Former, ...] = ()
    lost: Lost = NOTHING_LOST


def origins(
    answers: Iterable[Answered],
    stored: Mapping[str, StoredCheck],
    vanished: Mapping[str, StoredCheck],
    accepted: Mapping[str, StoredCheck],
) -> dict[str, Origin]:
    """The origin of every check of a run.

    vanished : checks of the baseline whose file is gone
    accepted : checks and lines whose vanishing was accepted
    """
    run = list(answers)
    every = Lost(_lost_lines(run, stored, vanished))
    lost = {key: check for key, check in accepted.items() if key not in stored}
    lost = {key: check for key, check in lost.items() if key not in {answer.key for answer in run}}
    return {answer.key: replace(_origin(answer, stored, vanished, accepted, lost), lost=every) for answer in run}


def _lost_lines(
    run: Iterable[Answered], stored: Mapping[str, StoredCheck], vanished: Mapping[str, StoredCheck]
) -> Iterator[Former]:
    """Lines of the baseline that this run has no more, of all files."""
    names = {answer.key: {line.name for line in answer.lines} for answer in run}
    for key, check in stored.items():
        if key in vanished or key in names:
            yield from (former for former in _formers(key, check) if former.name not in names.get(key, ()))


def _origin(
    answer: Answered,
    stored: Mapping[str, StoredCheck],
    vanished: Mapping[str, StoredCheck],
    accepted: Mapping[str, StoredCheck],
    lost: Mapping[str, StoredCheck],
) -> Origin:
    before, gone = stored.get(answer.key), accepted.get(answer.key)
    back = () if gone is None else tuple(_formers(answer.key, gone, accepted=True))
    if before is not None:
        names = {line.name for line in answer.lines}
        known = before.lines
        fresh = [former for former in _formers(answer.key, before) if former.name not in names]
        return Origin(formers=(*fresh, *(former for former in back if former.name not in known)))
    if gone is not None:
        return Origin(gone, answer.key, back)
    for pool, was_accepted in ((vanished, False), (lost, True)):
        ranked = [(_likeness(answer, key, check, was_accepted), key) for key, check in pool.items()]
        best, key = max(ranked, default=((0, 0, 0.0), ""))
        if any(best):
            return Origin(pool[key], key, tuple(_formers(key, pool[key], accepted=was_accepted)))
    return Origin()


def _formers(key: str, check: StoredCheck, *, accepted: bool = False) -> Iterator[Former]:
    return (Former(key, name, state, accepted, check.rules) for name, state in check.lines.items())


def _likeness(answer: Answered, key: str, check: StoredCheck, accepted: bool) -> tuple[int, int, float]:
    """Name of the file, title, share of the lines that are known again; zeros where it is another check.

    One whose vanishing was accepted is known by its stresses only, or by file and title together.
    """
    file = int(_file(key) == _file(answer.key))
    title = int(bool(check.title) and as_read(check.title) == as_read(answer.title))
    names = {as_read(line.name) for line in answer.lines}
    shared = sum(as_read(name) in names for name in check.lines) / max(len(check.lines), 1)
    same = file and title if accepted else file or title or shared >= HALF
    if not (same or _same_stresses(answer, check)):
        return 0, 0, 0.0
    return file, title, max(shared, HALF)


def _file(key: str) -> str:
    return as_read(key.rpartition("/")[2])


def _same_stresses(answer: Answered, check: StoredCheck) -> bool:
    """Whether half of the lines of before hold the stresses of one of now."""
    now = [sorted_figures(line.state.pattern) for line in answer.lines]
    known = sum(any(near(sorted_figures(line.pattern), one) for one in now) for line in check.lines.values())
    return known >= HALF * len(check.lines) > 0.0
