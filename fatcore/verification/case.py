"""A verification case: a number and the calculation that must give it. Tests, service and commands run it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from fatcore.outcome import Outcome, evidence
from fatcore.sources import Status

Kind = Literal["published, read", "published, from memory", "derived here"]
KINDS: dict[Status, Kind] = {
    "read": "published, read",
    "from memory": "published, from memory",
    "derived": "derived here",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class VerificationCase:
    """One number, printed in a publication or derived here, and the calculation that must give it.

    id        : short and stable; where: table, example or page in the source
    expected  : the number exactly as printed
    tolerance : absolute; None is half a unit of the last printed digit; a wider one needs `why`
    status    : of the expected value
    """

    id: str
    title: str
    source: str
    where: str
    status: Status
    expected: str
    compute: Callable[[], float]
    tolerance: float | None = None
    why: str = ""

    @property
    def kind(self) -> Kind:
        """Whether the number was read in its publication, recalled from it, or derived here."""
        return KINDS[self.status]

    def allowed(self) -> float:
        """Absolute tolerance of the comparison, with room for rounding of the last binary digit."""
        tolerance = half_last_digit(self.expected) if self.tolerance is None else self.tolerance
        return tolerance * (1.0 + 1e-9)


def case_of(
    topic: str,
    number: str,
    title: str,
    source: str,
    where: str,
    expected: str,
    compute: Callable[[], float],
    *,
    status: Status = "from memory",
    tolerance: float | None = None,
    why: str = "",
) -> VerificationCase:
    """A case of a topic, which its id begins with."""
    return VerificationCase(
        id=f"{topic}-{number}",
        title=title,
        source=source,
        where=where,
        status=status,
        expected=expected,
        compute=compute,
        tolerance=tolerance,
        why=why,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class CaseResult:
    """A case after running; the tolerance is absolute."""

    id: str
    kind: Kind
    title: str
    expected: str
    computed: float
    tolerance: float
    source: str
    where: str
    why: str
    passed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class KindCount:
    """Cases of one kind."""

    kind: Kind
    count: int
    failed: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Validation(Outcome):
    """Result of verification cases, counted by kind."""

    count: int
    failed: int
    all_passed: bool
    kinds: tuple[KindCount, ...]
    verification_cases: tuple[CaseResult, ...]


def half_last_digit(printed: str) -> float:
    """Half a unit of the last digit of a printed number.

    >>> half_last_digit("1.410"), half_last_digit("2.08e22"), half_last_digit("71")
    (0.0005, 5e+19, 0.5)
    """
    exponent = Decimal(printed).as_tuple().exponent
    assert isinstance(exponent, int)
    return float(Decimal(5).scaleb(exponent - 1))


def run(cases: Iterable[VerificationCase]) -> list[CaseResult]:
    """Computes every case and compares it with its number."""
    return [_run(case, float(case.compute())) for case in cases]


def validate(cases: Iterable[VerificationCase]) -> Validation:
    """Runs every case and counts what passed."""
    results = run(cases)
    failed = _failed(results)
    return Validation(
        count=len(results),
        failed=failed,
        all_passed=failed == 0,
        kinds=tuple(_counted(kind, [each for each in results if each.kind == kind]) for kind in KINDS.values()),
        verification_cases=tuple(results),
        **evidence(sources=[each.source for each in results]),
    )


def _run(case: VerificationCase, computed: float) -> CaseResult:
    return CaseResult(
        id=case.id,
        kind=case.kind,
        title=case.title,
        expected=case.expected,
        computed=computed,
        tolerance=case.allowed(),
        source=case.source,
        where=case.where,
        why=case.why,
        passed=abs(computed - float(case.expected)) <= case.allowed(),
    )


def _counted(kind: Kind, results: list[CaseResult]) -> KindCount:
    return KindCount(kind=kind, count=len(results), failed=_failed(results))


def _failed(results: list[CaseResult]) -> int:
    return sum(not each.passed for each in results)
