"""A verification case: a number and the calculation that must give it. Tests, service and commands run it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

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


@dataclass(frozen=True, slots=True, kw_only=True)
class CaseResult:
    """A case after running: computed value, absolute tolerance, passed."""

    case: VerificationCase
    computed: float
    tolerance: float
    passed: bool


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
    results = []
    for case in cases:
        computed = float(case.compute())
        passed = abs(computed - float(case.expected)) <= case.allowed()
        results.append(CaseResult(case=case, computed=computed, tolerance=case.allowed(), passed=passed))
    return results
