"""What a gate found: lines, checks, the whole run."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from fatcore.figures import DIGITS, as_given, beside_limits, counted

from ..base.problems import Problem
from ..client.exit_codes import FAILED, PASSED
from ..comparison.changes import Comparison
from ..topics.check.lines import LineInput
from .baseline import Accepted, Rules, StoredLine

FaultKind = Literal["limit", "undecided", "vanished", "rules", "growth"]
SEVERITY: dict[FaultKind, int] = {"limit": 0, "undecided": 1, "vanished": 2, "rules": 3, "growth": 4}
MOST_GROWTH_PCT = 1e6
NEVER_ACCEPTED: set[FaultKind] = {"limit", "undecided"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What every line must keep.

    utilisation     : upper bound, at most 1: what 1 means is set by the target in the check itself
    growth_pct      : how much a utilisation may grow against the baseline [%]
    growth_floor    : utilisation up to which growth is reported only
    accept_vanished : lines of the baseline that are checked no more do not fail the gate
    """

    utilisation: float = 1.0
    growth_pct: float = 0.0
    growth_floor: float = 0.5
    accept_vanished: bool = False

    def __post_init__(self) -> None:
        if not 0.0 < self.utilisation <= 1.0:
            text = "--limit takes a utilisation above 0 and at most 1; what 1 means is the target of the check"
            raise Problem(422, text)
        if not 0.0 <= self.growth_pct <= MOST_GROWTH_PCT:
            raise Problem(422, f"--growth-pct takes a percentage from 0 to {as_given(MOST_GROWTH_PCT)}")
        if not 0.0 <= self.growth_floor <= 1.0:
            raise Problem(422, "--growth-floor takes a utilisation from 0 to 1")

    def used_text(self, utilisation: float, digits: int = DIGITS) -> str:
        """A utilisation that shows on which side of 1, and of the limit of the run, it stands."""
        return beside_limits(utilisation, 1.0, self.utilisation, digits=digits)


@dataclass(frozen=True, slots=True)
class Fault:
    """One reason why a line or a check does not pass."""

    kind: FaultKind
    text: str

    @property
    def acceptable(self) -> bool:
        """Whether it can be accepted by name; what is over its limit or undecided cannot."""
        return self.kind not in NEVER_ACCEPTED


def order_faults(faults: Iterable[Fault]) -> tuple[Fault, ...]:
    """Faults of one line or check, the gravest first."""
    return tuple(sorted(faults, key=lambda fault: SEVERITY[fault.kind]))


def location(key: str, line: str | None) -> str:
    """A check, or a line of it, as it is called in texts."""
    return key if line is None else f"{key}, {line}"


@dataclass(frozen=True, slots=True, kw_only=True)
class AnsweredLine:
    """One weld line of an answer, before it is compared with anything.

    given   : the line of the request
    place   : of its governing station, as the answer has it
    outside : messages of the validity limits that it leaves
    """

    given: LineInput
    state: StoredLine
    place: Mapping[str, Any]
    equivalent_stress_mpa: float
    allowable_stress_mpa: float | None
    outside: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """Name of the line."""
        return str(self.given.name)


@dataclass(frozen=True, slots=True, kw_only=True)
class Answered:
    """One check file with its answer, before it is compared with anything.

    request_digest : of what the request gives, title left out
    crack_life_repeats : of a growth part, None when infinite or absent; crack_fault : why it fails the check
    findings : severity and code of those that are of no line
    words    : what is said for a reader only, by its place
    policy   : rules of a company that the answer obeys as its record names them, None without any
    """

    key: str
    title: str
    input_digest: str
    request_digest: str
    version: str
    verdict: str
    crack_life_repeats: float | None
    crack_fault: str | None
    load_reach: dict[str, str]
    load_digest: str
    load_figures: list[float]
    rules: Rules
    lines: tuple[AnsweredLine, ...]
    doubts: tuple[str, ...]
    findings: list[str]
    words: dict[str, str]
    caution: str
    policy: Mapping[str, Any] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LineResult:
    """One weld line: what it is now, what it was, what is wrong with it, and what is to be reported.

    now, before : None for a line that vanished, and for one that the baseline does not know
    former : its name in the state before, where that is another one
    continues, known_by : check and name of the line that is checked no more and that it is compared with, and by what
    place : of the governing station now, None for a line that vanished
    changes : what is another number or direction than in the baseline, whether allowed or not
    needs_reason : what fails nothing, but replaces the stored state with a reason only
    """

    name: str
    now: StoredLine | None
    before: StoredLine | None
    former: str | None = None
    continues: tuple[str, str] | None = None
    known_by: str = ""
    place: Mapping[str, Any] | None = None
    equivalent_stress_mpa: float | None = None
    allowable_stress_mpa: float | None = None
    faults: tuple[Fault, ...] = ()
    notes: tuple[str, ...] = ()
    changes: tuple[str, ...] = ()
    needs_reason: tuple[str, ...] = ()

    @property
    def growth_pct(self) -> float | None:
        """Growth of the utilisation against the baseline's reference [%]; None with nothing to compare."""
        reference = None if self.before is None else self.before.reference("utilisation")
        if self.now is None or not reference:
            return None
        return 100.0 * (self.now.utilisation / reference - 1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class CaseResult:
    """One check file; `error` is the reason for a missing answer, `error_code` the exit code that follows.

    verdict : of the check itself, empty where it has no answer
    faults  : of the check as a whole, besides those of its lines
    changes : of the check as a whole since its stored state, whether allowed or not
    needs_reason : of them what replaces the stored state with a reason only, though it fails nothing
    since   : everything that changed since its stored state, None without one
    """

    key: str
    title: str = ""
    verdict: str = ""
    input_digest: str = ""
    lines: tuple[LineResult, ...] = ()
    faults: tuple[Fault, ...] = ()
    notes: tuple[str, ...] = ()
    changes: tuple[str, ...] = ()
    needs_reason: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    caution: str = ""
    policy: Mapping[str, Any] | None = None
    error: str | None = None
    error_code: int = PASSED
    since: Comparison | None = None

    @property
    def passed(self) -> bool:
        """An answer came, and neither the check nor a line has a fault."""
        return self.error is None and not self.faults and not any(line.faults for line in self.lines)

    @property
    def every_fault(self) -> list[tuple[str | None, Fault]]:
        """Line and fault, line None for those of the check as a whole."""
        whole: list[tuple[str | None, Fault]] = [(None, fault) for fault in self.faults]
        return whole + [(line.name, fault) for line in self.lines for fault in line.faults]

    @property
    def every_reason(self) -> list[tuple[str | None, str]]:
        """Line and what of it is stored with a reason only, line None for the check as a whole."""
        whole: list[tuple[str | None, str]] = [(None, text) for text in self.needs_reason]
        whole += [(line.name, text) for line in self.lines for text in line.needs_reason]
        return [(name, fault.text) for name, fault in self.every_fault if fault.acceptable] + whole


@dataclass(frozen=True, slots=True, kw_only=True)
class GateResult:
    """All checks of one run; `notes` report what was left out or cannot be compared.

    accepted : what was accepted by name, now and before
    not_run  : checks of the baseline that are not among the files of this run
    pages    : path of the report of a check that does not pass, by its key, where reports are written
    """

    checks: tuple[CaseResult, ...]
    limits: Limits
    compared: bool
    notes: tuple[str, ...] = ()
    accepted: tuple[Accepted, ...] = ()
    not_run: int = 0
    pages: Mapping[str, str] = field(default_factory=dict)

    @property
    def exit_code(self) -> int:
        """0 passed, 1 failed or undecided, 2 an input was refused, 3 the service gave no answer."""
        errors = max((check.error_code for check in self.checks), default=PASSED)  # none: a part without a check
        if errors:
            return errors
        return PASSED if all(check.passed for check in self.checks) else FAILED

    @property
    def faults(self) -> list[tuple[CaseResult, str | None, Fault]]:
        """Check, line and fault, the gravest first."""
        found = [(check, line, fault) for check in self.checks for line, fault in check.every_fault]
        return sorted(found, key=lambda entry: SEVERITY[entry[2].kind])

    def returned(self, entry: Accepted) -> list[str]:
        """Lines whose vanishing was accepted by this entry and which a check of this run has again."""
        gone = set() if entry.last is None else set(entry.last.lines)
        check = next((check for check in self.checks if check.key == entry.check), None)
        return [] if check is None else [line.name for line in check.lines if line.now and line.name in gone]

    @property
    def summary(self) -> str:
        """The run in one sentence."""
        lines = [line for check in self.checks for line in check.lines]
        failed = sum(bool(line.faults) for line in lines)
        whole = sum(bool(check.faults) for check in self.checks)
        errors = sum(check.error is not None for check in self.checks)
        text = f"{counted(len(self.checks), 'check')}, {counted(len(lines), 'weld line')}"
        text += f": {failed} failed or undecided"
        text += f", {counted(whole, 'check')} failed as a whole" if whole else ""
        text += f", {counted(errors, 'check')} without an answer" if errors else ""
        return text + (f"; {counted(self.not_run, 'check')} of the baseline not run" if self.not_run else "")
