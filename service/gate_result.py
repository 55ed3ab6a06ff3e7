"""What a gate found: lines, checks, the whole run."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from service.baseline import StoredCheck, StoredLine
from service.commands.shared import FAILED, PASSED
from service.problems import Problem

__all__ = ["CheckResult", "Fault", "GateResult", "Limits", "LineResult"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What every line must keep.

    utilisation     : upper bound, at most 1: what 1 means is set by the target in the check itself
    growth_pct      : how much a utilisation may grow against the baseline [%]
    accept_vanished : lines of the baseline that are checked no more do not fail the gate
    """

    utilisation: float = 1.0
    growth_pct: float = 0.0
    accept_vanished: bool = False

    def __post_init__(self) -> None:
        if not 0.0 < self.utilisation <= 1.0:
            text = (
                "--limit takes a utilisation above 0 and at most 1; what 1 means is the target of the check"
            )
            raise Problem(422, text)
        if not 0.0 <= self.growth_pct <= 1e6:
            raise Problem(422, "--growth-pct takes a percentage of 0 or more")


@dataclass(frozen=True, slots=True)
class Fault:
    """One reason why a line does not pass."""

    kind: Literal["limit", "undecided", "growth", "vanished"]
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LineResult:
    """One weld line: what it is now, what it was, and what is wrong with it.

    now, before : None for a line that vanished, and for one that the baseline does not know
    """

    name: str
    now: StoredLine | None
    before: StoredLine | None
    equivalent_stress_mpa: float | None = None
    allowable_stress_mpa: float | None = None
    faults: tuple[Fault, ...] = ()

    @property
    def growth_pct(self) -> float | None:
        """Growth of the utilisation against the baseline [%]; None where there is nothing to compare."""
        if self.now is None or self.before is None or self.before.utilisation == 0.0:
            return None
        return 100.0 * (self.now.utilisation / self.before.utilisation - 1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckResult:
    """One check file; `error` tells why there is no answer, `error_code` the exit code that follows."""

    key: str
    title: str = ""
    input_digest: str = ""
    lines: tuple[LineResult, ...] = ()
    doubts: tuple[str, ...] = ()
    caution: str = ""
    error: str | None = None
    error_code: int = PASSED

    @property
    def passed(self) -> bool:
        """An answer came, and no line has a fault."""
        return self.error is None and not any(line.faults for line in self.lines)

    def stored(self) -> StoredCheck:
        """What a baseline keeps of it."""
        lines = {line.name: line.now for line in self.lines if line.now is not None}
        return StoredCheck(title=self.title, input_digest=self.input_digest, lines=lines)


@dataclass(frozen=True, slots=True, kw_only=True)
class GateResult:
    """All checks of one run; `notes` tell what was left out or cannot be compared."""

    checks: tuple[CheckResult, ...]
    limits: Limits
    compared: bool
    notes: tuple[str, ...] = ()

    @property
    def exit_code(self) -> int:
        """0 passed, 1 failed or undecided, 2 an input was refused, 3 the service gave no answer."""
        errors = max(check.error_code for check in self.checks)
        if errors:
            return errors
        return PASSED if all(check.passed for check in self.checks) else FAILED

    @property
    def summary(self) -> str:
        """The run in one sentence."""
        lines = [line for check in self.checks for line in check.lines]
        failed = sum(bool(line.faults) for line in lines)
        errors = sum(check.error is not None for check in self.checks)
        text = f"{_counted(len(self.checks), 'check')}, {_counted(len(lines), 'weld line')}"
        text += f": {failed} failed or undecided"
        return text + (f", {_counted(errors, 'check')} without an answer" if errors else "")


def _counted(number: int, word: str) -> str:
    return f"{number} {word}" if number == 1 else f"{number} {word}s"
