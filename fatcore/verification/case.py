"""Published numbers that the core must reproduce; tests, the service and the command line run them."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from decimal import Decimal

from fatcore.sources import Status


@dataclass(frozen=True, slots=True, kw_only=True)
class VerificationCase:
    """One printed number and the calculation that must give it.

    id        : short and stable; where: table, example or page in the source
    expected  : the number exactly as printed
    tolerance : absolute; None is half a unit of the last printed digit; a wider one needs `why`
    status    : of the expected value (read, from memory, derived, common practice)
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

    def allowed(self) -> float:
        """Absolute tolerance of the comparison, with room for rounding of the last binary digit."""
        tolerance = half_last_digit(self.expected) if self.tolerance is None else self.tolerance
        return tolerance * (1.0 + 1e-9)


@dataclass(frozen=True, slots=True, kw_only=True)
class CaseResult:
    """A published check after running: computed value, absolute tolerance, passed."""

    check: VerificationCase
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


def run(checks: Iterable[VerificationCase]) -> list[CaseResult]:
    """Computes every check and compares it with its printed value."""
    results = []
    for check in checks:
        computed = float(check.compute())
        passed = abs(computed - float(check.expected)) <= check.allowed()
        results.append(CaseResult(check=check, computed=computed, tolerance=check.allowed(), passed=passed))
    return results
