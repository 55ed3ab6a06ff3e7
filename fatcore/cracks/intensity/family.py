"""A family of cracks by name: what it needs, where it holds, and one uniform call for its intensity."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike

from fatcore.cracks.intensity.wide_plate import WIDTHS, wide_plate
from fatcore.errors import InputError, NotCoveredError, UnknownError
from fatcore.figures import as_given
from fatcore.findings import Finding, Limit, note, outside_limits
from fatcore.outcome import Outcome, evidence
from fatcore.require import FloatArray, finite, positive, within

Role = Literal["length", "angle", "load", "choice"]
Values = Mapping[str, Any]
REQUIRED = object()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class IntensityOutcome(Outcome):
    """Stress intensity of a family [MPa√mm], signed, one per crack size [mm]."""

    family: str
    crack_size_mm: FloatArray
    k_mpa_sqrt_mm: FloatArray


@dataclass(frozen=True, slots=True)
class Parameter:
    """One argument of a family besides the crack size.

    role    : length (positive), angle (low to high), load (finite), choice (one of the names)
    default : REQUIRED, or the value when it is not given (None: left out)
    """

    name: str
    role: Role
    default: Any = REQUIRED
    choices: tuple[str, ...] = ()
    low: float = 0.0
    high: float = 180.0

    def checked(self, value: Any) -> Any:
        """The value as array (or name), or an InputError about it."""
        if value is None and self.default is None:
            return None
        if self.role == "choice":
            if value not in self.choices:
                raise UnknownError(self.name, str(value), self.choices, self.name)
            return value
        if isinstance(value, str) or value is None:
            raise InputError(f"{self.name} must be a number", self.name)
        if self.role == "length":
            return positive(self.name, value)
        if self.role == "angle":
            return within(self.name, value, self.low, self.high)
        return finite(self.name, value)


@dataclass(frozen=True, slots=True)
class Bound:
    """What no crack can exceed: a ratio with its largest value (itself allowed or not)."""

    ratio: str
    largest: float
    inclusive: bool = False
    message: str = "the crack is larger than the body"

    def check(self, ratios: Mapping[str, FloatArray], size: str) -> None:
        """InputError about the size when a ratio is too large."""
        value = ratios.get(self.ratio)
        if value is None:
            return
        if (value > self.largest if self.inclusive else value >= self.largest).any():
            sign = "at most" if self.inclusive else "below"
            raise InputError(f"{self.message}: {self.ratio} must be {sign} {as_given(self.largest)}", size)


def _no_remarks(values: Values, ratios: Mapping[str, FloatArray]) -> tuple[Finding, ...]:  # noqa: ARG001
    return ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Family:
    """One family of cracks.

    name, title  : short name, and what it is
    size         : name of the crack size that grows
    k            : fast function, K(size, **parameters), without checks and findings
    ratios       : the dimensionless numbers that limits and bounds speak of
    by_choice    : sources that only one choice uses
    remarks      : findings that no interval describes
    arc_radius   : where the size is an angle, the parameter whose arc it is: growth goes by half that arc
    """

    name: str
    title: str
    size: str
    k: Callable[..., FloatArray]
    parameters: tuple[Parameter, ...]
    ratios: Callable[[Values], dict[str, FloatArray]]
    bounds: tuple[Bound, ...] = ()
    limits: tuple[Limit, ...] = ()
    sources: tuple[str, ...]
    tables: tuple[str, ...]
    by_choice: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    remarks: Callable[[Values, Mapping[str, FloatArray]], tuple[Finding, ...]] = _no_remarks
    arc_radius: str | None = None

    def intensity(self, crack_size_mm: ArrayLike, /, **given: Any) -> IntensityOutcome:
        """Stress intensity with every check, the limits that are left and the sources that were used.

        crack_size_mm : crack size [mm] (degrees where `size` says so), scalar or array
        given   : parameters of the family by name, arrays that broadcast
        Raises  : InputError for unknown, missing or impossible values, NotCoveredError where the source ends
        """
        values = self.checked(crack_size_mm, given)
        size = values[self.size]
        with np.errstate(all="ignore"):  # impossible proportions show as a value that is not finite
            ratios = self.ratios(values)
            for bound in self.bounds:
                bound.check(ratios, self.size)
            k = self.k(size, **{name: value for name, value in values.items() if name != self.size})
            remarks = self.remarks(values, ratios)
        if not all(np.isfinite(array).all() for array in (k, *ratios.values())):
            raise NotCoveredError(f"{self.name} has no finite value for such proportions", self.size)
        wide = (wide_plate(name) for name in WIDTHS if name in values and values[name] is None)
        findings = (*outside_limits(self.limits, **ratios), *wide, *remarks, *_closed(k))
        chosen = (
            source for value in values.values() if isinstance(value, str) for source in self.by_choice.get(value, ())
        )
        return IntensityOutcome(
            family=self.name,
            crack_size_mm=np.broadcast_to(size, np.shape(k)),
            k_mpa_sqrt_mm=k,
            **evidence(findings=findings, sources=(*self.sources, *chosen), tables=self.tables),
        )

    def checked(self, crack_size_mm: ArrayLike, given: Mapping[str, Any]) -> dict[str, Any]:
        """All arguments by name as arrays and names, defaults filled in; InputError for what cannot be."""
        known = {parameter.name for parameter in self.parameters}
        for name in given:
            if name not in known:
                raise UnknownError("parameter", name, known, name)
        values: dict[str, Any] = {self.size: positive(self.size, crack_size_mm)}
        for parameter in self.parameters:
            value = given.get(parameter.name, parameter.default)
            if value is REQUIRED:
                raise InputError(f"{self.name} needs {parameter.name}", parameter.name)
            values[parameter.name] = parameter.checked(value)
        _broadcast(values)
        return values


def _broadcast(values: Values) -> None:
    shape: tuple[int, ...] = ()
    for name, value in values.items():
        if isinstance(value, np.ndarray):
            try:
                shape = np.broadcast_shapes(shape, value.shape)
            except ValueError:
                raise InputError(f"{name} has a length that does not fit the others", name) from None


def _closed(k: FloatArray) -> tuple[Finding, ...]:
    if not (k < 0.0).any():
        return ()
    return (
        note(
            "closed-crack",
            "a negative stress intensity means that the crack is closed there",
            field="k_mpa_sqrt_mm",
        ),
    )


WIDTH, THICKNESS = Parameter("width_mm", "length"), Parameter("thickness_mm", "length")
HALF_LENGTH, HALF_WIDTH = Parameter("half_length_mm", "length"), Parameter("half_width_mm", "length", None)
ANGLE = Parameter("angle_deg", "angle", 90.0)
MEMBRANE, BENDING = Parameter("membrane_mpa", "load", 0.0), Parameter("bending_mpa", "load", 0.0)
WHOLE_PLATE = (Bound("alpha", 1.0, message="the crack is as large as the plate"),)


def relative_depth(values: Values) -> FloatArray:
    """Depth over width."""
    return np.asarray(values["depth_mm"] / values["width_mm"])


def relative_length(values: Values, size: str) -> FloatArray:
    """Twice a size over the width."""
    return np.asarray(2.0 * values[size] / values["width_mm"])
