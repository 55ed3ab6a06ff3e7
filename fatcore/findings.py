"""What a user must know about a number besides the number: notes, cautions, limits left."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cache
from typing import Annotated, Any, Literal

import numpy as np
from annotated_types import doc
from numpy.typing import ArrayLike

from fatcore import _resources
from fatcore.errors import InputError, UnknownError
from fatcore.figures import as_given

Severity = Literal["note", "caution", "outside"]

_ROUNDING = 1e-9  # an end of a limit belongs to it, also when a computed value misses it by rounding


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One remark that travels with an answer.

    code     : stable word for programs, kebab-case
    severity : note (how it was done), caution (doubtful), outside (beyond a validity limit of the source)
    field    : name of the quantity it is about; value: its (worst) value; low, high: the limits
    source   : key of a publication; count: how many elements are touched; line: name of the weld line
    """

    code: str
    severity: Severity
    message: str
    field: str | None = None
    value: float | None = None
    low: float | None = None
    high: float | None = None
    source: str | None = None
    count: int = 1
    line: str | None = None

    def of_line(self, name: str) -> Finding:
        """The same with the name of a weld line."""
        return Finding(
            code=self.code,
            severity=self.severity,
            message=self.message,
            field=self.field,
            value=self.value,
            low=self.low,
            high=self.high,
            source=self.source,
            count=self.count,
            line=name,
        )


def note(code: str, message: str, *, field: str | None = None, source: str | None = None) -> Finding:
    """A finding that tells how something was done."""
    return Finding(code=code, severity="note", message=message, field=field, source=source)


def caution(code: str, message: str, *, field: str | None = None, source: str | None = None) -> Finding:
    """A finding that tells what is doubtful."""
    return Finding(code=code, severity="caution", message=message, field=field, source=source)


def outside(code: str, message: str, *, field: str | None = None, source: str | None = None) -> Finding:
    """A finding that tells that a validity limit is left where one interval does not describe it."""
    return Finding(code=code, severity="outside", message=message, field=field, source=source)


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingKind:
    """One code of the catalogue; it has one severity wherever it is reported."""

    code: str
    severity: Severity
    topic: Annotated[str, doc("lowest topic that says it")]
    meaning: Annotated[str, doc("what it means and what to do")]


@cache
def catalogue() -> dict[str, FindingKind]:
    """Every finding there is by its code, from data/findings/<topic>.toml (code = [severity, meaning]).

    >>> catalogue()["mesh-too-coarse"].severity
    'outside'
    """
    found: dict[str, FindingKind] = {}
    for file in _resources.names("findings"):
        topic = file.removeprefix("findings/").removesuffix(".toml")
        for code, (severity, meaning) in _resources.read_toml(file).items():
            found[code] = FindingKind(code=code, severity=severity, topic=topic, meaning=meaning)
    return dict(sorted(found.items()))


def finding_kind(code: str) -> FindingKind:
    """The entry of a code; UnknownError, with codes like it, when there is none."""
    known = catalogue()
    if code not in known:
        raise UnknownError("finding", code, known)
    return known[code]


@dataclass(frozen=True, slots=True)
class Limit:
    """Validity interval of a formula as its source states it; both ends belong to it, None is open."""

    name: str
    low: float | None
    high: float | None
    source: str
    where: str

    def finding(self, value: ArrayLike) -> Finding | None:
        """One `outside` finding with count and worst value, or None when all elements are inside.

        >>> Limit("thickness_mm", 5.0, 150.0, "key", "sec. 6.2").finding([4.0, 10.0, 3.0]).value
        3.0
        """
        values = np.atleast_1d(np.asarray(value, dtype=np.float64))
        excess = np.zeros(values.shape)
        if self.low is not None:
            excess = np.maximum(excess, self.low - values)
        if self.high is not None:
            excess = np.maximum(excess, values - self.high)
        ends = [abs(end) for end in (self.low, self.high) if end is not None]
        excess[excess <= _ROUNDING * max(ends, default=0.0)] = 0.0
        count = int(np.count_nonzero(excess))
        if count == 0:
            return None
        return Finding(
            code=f"{self.name.replace('_', '-')}-outside",
            severity="outside",
            message=f"{self.name} leaves the range {self._range()} ({self.where}); computed all the same",
            field=self.name,
            value=float(values[int(np.argmax(excess))]),
            low=self.low,
            high=self.high,
            source=self.source,
            count=count,
        )

    def _range(self) -> str:
        if self.low is None:
            return f"up to {as_given(self.high)}"
        return f"from {as_given(self.low)}" if self.high is None else f"{as_given(self.low)} to {as_given(self.high)}"


def outside_limits(limits: Iterable[Limit], **values: ArrayLike) -> tuple[Finding, ...]:
    """The findings of every limit whose quantity is given by name and left."""
    found = (limit.finding(values[limit.name]) for limit in limits if limit.name in values)
    return tuple(finding for finding in found if finding is not None)


def with_code(code: str, message: str, **details: Any) -> Finding:
    """A finding with the severity that its code has in the catalogue, for what comes from elsewhere.

    Raises : InputError for a code that the catalogue does not have
    """
    kind = catalogue().get(code)
    if kind is None:
        raise InputError(f"no finding has the code {code!r}", code)
    return Finding(code=code, severity=kind.severity, message=message, **details)


def merge(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """One finding per code, field, line and message: counts add up; order of first appearance is kept."""
    kept: dict[tuple[str | None, ...], Finding] = {}
    for finding in findings:
        key = (finding.code, finding.field, finding.line, finding.message)
        old = kept.get(key)
        kept[key] = finding if old is None else replace(old, count=old.count + finding.count)
    return tuple(kept.values())
