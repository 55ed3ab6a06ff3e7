"""The rules of a company as they are held: its curves and laws, what requests may not undercut, and its defaults."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from fnmatch import fnmatchcase
from functools import partial
from typing import Any, Literal, NoReturn

import numpy as np

from fatcore.alike import alike
from fatcore.cracks.driving.law import GrowthLaw
from fatcore.curves.corrections.correction import Correction
from fatcore.curves.curve import Curve
from fatcore.curves.relief import CLASS_FACTOR, is_partial_factor
from fatcore.errors import Step
from fatcore.figures import beside_limit
from fatcore.findings import Finding

from ..common import Strict
from .refusal import PolicyError

SOURCE = "policy"  # key of what a policy states
POLICY_HEADER = "X-Toeline-Policy"  # of every response: the digest
_ROUNDING = 1e-9  # relative


@dataclass(frozen=True, slots=True, kw_only=True)
class Constants:
    """Element constants that the company calibrated, for notches between two angles."""

    element: str
    lowest_angle_deg: float
    highest_angle_deg: float
    by_mode: Mapping[str, float]

    def hold_for(self, element: str, opening_angle_deg: float) -> bool:
        """Whether they are those of an element at a notch."""
        return self.element == element and self.lowest_angle_deg <= opening_angle_deg <= self.highest_angle_deg


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Policy:
    """What a policy file says.

    digest   : SHA-256 of its content, whatever its order and comments
    text     : the file as it was read, from which `remake` makes the same in another process
    floors   : numbers by rule; allowed: words or patterns by rule; own: whether requests may bring their own
    prepare  : puts defaults into a request and holds what it gives against the rules
    """

    name: str
    version: str
    digest: str
    text: bytes
    curves: Mapping[str, Curve] = field(default_factory=dict)
    laws: Mapping[str, GrowthLaw] = field(default_factory=dict)
    constants: Sequence[Constants] = ()
    floors: Mapping[str, float] = field(default_factory=dict)
    allowed: Mapping[str, Sequence[str]] = field(default_factory=dict)
    own: Mapping[str, bool] = field(default_factory=dict)
    defaults: Mapping[str, Any] = field(default_factory=dict)
    prepare: Callable[[Policy, Strict], tuple[Strict, list[Finding]]]
    remake: Callable[[bytes], Policy]

    @property
    def label(self) -> str:
        """Name and version."""
        return f"{self.name} {self.version}"

    def maker(self) -> Callable[[], Policy]:
        """What makes the same policy in another process, to which it can be sent."""
        return partial(self.remake, self.text)

    def record(self) -> dict[str, str]:
        """What the record of an answer says of it."""
        return {"name": self.name, "version": self.version, "digest": self.digest}

    def refuse(self, message: str, rule: str, *path: Step) -> NoReturn:
        """Raises the refusal of a rule."""
        raise PolicyError(message, rule, self.label, *path)

    def guard_least(self, rule: str, value: float, what: str, *path: Step) -> None:
        """PolicyError for a value under the floor of a rule."""
        least = self.floors.get(rule)
        if least is not None and value < least * (1.0 - _ROUNDING):
            text = f"{what} {_beside(value, 'below', least)}, the least that is allowed"
            self.refuse(text, f"floors.{rule}", *path)

    def guard_largest(self, rule: str, value: float, what: str, *path: Step) -> None:
        """PolicyError for a value over the bound of a rule."""
        largest = self.floors.get(rule)
        if largest is not None and value > largest * (1.0 + _ROUNDING):
            text = f"{what} {_beside(value, 'above', largest)}, the largest that is allowed"
            self.refuse(text, f"floors.{rule}", *path)

    def guard_word(self, rule: str, word: str, what: str, *path: Step) -> None:
        """PolicyError for a word that fits no pattern of a rule."""
        patterns = self.allowed.get(rule)
        if patterns is not None and not any(fnmatchcase(word, pattern) for pattern in patterns):
            known = ", ".join(patterns) or "none"
            self.refuse(f"{what} {word!r} is not among those allowed: {known}", f"allowed.{rule}", *path)

    def guard_own(self, rule: str, what: str, *path: Step) -> None:
        """PolicyError for something that a request brings itself, where a rule forbids it."""
        if not self.own.get(rule, True):
            self.refuse(f"{what} is not allowed", f"allowed.{rule}", *path)

    def guard_curve(self, curve: Curve, *path: Step) -> None:
        """PolicyError for a curve that is not allowed; those of the policy itself are."""
        if self.curves.get(curve.id) is curve:
            return
        if curve.table is None:
            self._guard_name(curve.id, "curves", *path)
            self.guard_own("own_curves", "a curve of the request's own", *path)
        else:
            self.guard_word("curves", curve.id, "the curve", *path)

    def guard_law(self, name: str | None, *path: Step, tested: str | None = None) -> None:
        """PolicyError for a growth law that is not allowed, by its name, or None for one of the request's own.

        tested : what the evaluation of its tests calls an own law
        """
        if name is None:
            self.guard_own("own_laws", "a growth law of the request's own", *path, "stages")
            if tested is not None:
                self._guard_name(tested, "laws", *path, "tested", "name")
        elif name not in self.laws:
            self.guard_word("laws", name, "the growth law", *path, "name")

    def _guard_name(self, name: str, rule: Literal["curves", "laws"], *path: Step) -> None:
        """PolicyError for a name of the request's own that looks like one of the policy."""
        known = alike(name, getattr(self, rule))
        if known is not None:
            what = rule.removesuffix("s")
            self.refuse(f"{name!r} looks like {known}, a {what} of the policy: give another name to yours", rule, *path)

    def guard_survival(self, asked: float | None, curve: Curve, *path: Step) -> None:
        """PolicyError for a curve that is used at too small a share of survivors, or at one that is not known."""
        share = curve.survival_probability if asked is None else asked
        if share is None and "survival_probability" in self.floors:
            text = f"{curve.id} states no survival probability, and none is asked for"
            self.refuse(text, "floors.survival_probability", *path)
        if share is not None:
            self.guard_least("survival_probability", share, f"survival_probability of {curve.id}", *path)

    def guard_partial_factor(
        self, corrections: Sequence[Correction], *path: Step, resistance_factor: float = 1.0, load_factor: float = 1.0
    ) -> None:
        """PolicyError where partial factors on strength, less what strengthens at the caller's will, are too small.

        Factors on loads under 1, own factors and those of another class over 1 take away from them.
        """
        partial = resistance_factor * min(1.0, load_factor)
        for each in corrections:
            strongest = float(np.max(each.strength_factor))
            if is_partial_factor(each):
                partial /= strongest
            elif each.reason is not None or each.name == CLASS_FACTOR:  # of the caller's choice
                partial /= max(1.0, strongest)
        self.guard_least("partial_factor", partial, "the partial factor on strength", *path)


def _beside(value: float, side: str, limit: float) -> str:
    return f" is {side} ".join(beside_limit(value, limit))
