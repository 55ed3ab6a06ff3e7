"""Puts the defaults of a policy where a request leaves something out, and says each one."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, NamedTuple

from pydantic import BaseModel

from fatcore.figures import as_given
from fatcore.findings import Finding, note

from ..base.common import Strict
from ..base.rules.policy import Constants, Policy
from ..topics.check.judging import BiaxialityCurves
from ..topics.check.lines import LineInput
from ..topics.check.models import CheckRequest, TargetInput
from ..topics.cracks.routes import GrowthRequest, InspectionRequest
from ..topics.cracks.scatter import ScatterRequest
from ..topics.curves.resistance import DamageLimitChoice, Moved
from ..topics.stress.models import PeakConstants, PeakRequest
from .left_out import left_out
from .partial import factors_taken
from .walk import Path, with_parts

# what is taken by its own name, and the parts of a request that have it; a line leaves what it has not to its check
PLACES: dict[str, tuple[type[BaseModel], ...]] = {
    "survival_probability": (Moved, TargetInput),
    "damage_limit": (DamageLimitChoice, TargetInput),
    "load_factor": (TargetInput,),
    "condition": (CheckRequest, PeakRequest, GrowthRequest, ScatterRequest),
    "opening_curve": (BiaxialityCurves,),
    "shear_curve": (BiaxialityCurves,),
    "inspections": (InspectionRequest,),
}
_INSTEAD = {"damage_limit": ("damage_limit_rule", "design_fatigue_factor")}  # that say the same in another way
SPECIMEN = "specimen_model"  # gives a range for a load: what its life is nobody asks


def with_defaults(policy: Policy, request: Strict) -> tuple[Strict, list[Finding]]:
    """The request with the defaults, and a finding for each that was taken."""
    told: dict[str, Finding] = {}

    def change(model: BaseModel, path: Path) -> BaseModel:
        taken = list(_taken(policy, model, path))
        for each in taken:
            text = f"{each.words}, by the policy {policy.label}, since the request leaves it out"
            told.setdefault(text, note("policy-default", text, field=each.field))
        return model.model_copy(update={each.name: each.value for each in taken}) if taken else model

    return with_parts(request, change), list(told.values())


class _Taken(NamedTuple):
    """A default: of which name in its model, and what is said of it under which field."""

    name: str
    value: Any
    words: str
    field: str


def _taken(policy: Policy, model: BaseModel, path: Path) -> Iterator[_Taken]:
    yield from _by_name(policy, model, path)
    yield from (_Taken(*each) for each in factors_taken(policy, model, path))
    yield from _constants(policy, model)
    yield from _quantiles(policy, model)


def _by_name(policy: Policy, model: BaseModel, path: Path) -> Iterator[_Taken]:
    for name, value in policy.defaults.items():
        ways = (name, *_INSTEAD.get(name, ()))
        missing = isinstance(model, PLACES.get(name, ())) and left_out(model, *ways)
        if missing and (name != "load_factor" or SPECIMEN not in path):
            words = f"{name.replace('_', ' ')} {value if isinstance(value, str) else as_given(value)}"
            yield _Taken(name, value, words, name)


def _constants(policy: Policy, model: BaseModel) -> Iterator[_Taken]:
    """The element constants that the company calibrated, mode by mode, where the mesh of a line has none."""
    found = calibrated(policy, model)
    if found is None or not isinstance(model, LineInput | PeakRequest) or model.mesh is None:
        return
    now = model.mesh.constants or PeakConstants()
    missing = {mode: value for mode, value in found.by_mode.items() if getattr(now, mode) is None}
    if missing:
        mesh = model.mesh.model_copy(update={"constants": now.model_copy(update=missing)})
        listed = ", ".join(f"{mode} {as_given(value)}" for mode, value in missing.items())
        yield _Taken("mesh", mesh, f"constants of {found.element} {listed}", "constants")


def calibrated(policy: Policy, model: BaseModel) -> Constants | None:
    """The constants of the policy for the elements and the notch of a line, the first that fit."""
    if not isinstance(model, LineInput | PeakRequest) or model.mesh is None or model.notch is None:
        return None
    element, angle = model.mesh.element, model.notch.opening_angle_deg
    return next((each for each in policy.constants if each.hold_for(element, angle)), None)


def smallest_constant(policy: Policy, model: BaseModel, mode: str) -> float | None:
    """The smallest constant of a mode that was calibrated for the notch of a line with any element."""
    notch = getattr(model, "notch", None)
    if notch is None:
        return None
    angle = notch.opening_angle_deg
    fitting = (each.by_mode.get(mode) for each in policy.constants if each.hold_for(each.element, angle))
    return min((value for value in fitting if value is not None), default=None)


def _quantiles(policy: Policy, model: BaseModel) -> Iterator[_Taken]:
    """The usual probabilities of failure without those that the floor of survival forbids."""
    least = policy.floors.get("survival_probability")
    if least is None or not isinstance(model, ScatterRequest) or not left_out(model, "quantiles"):
        return
    kept = [share for share in model.quantiles if share <= 1.0 - least] or [1.0 - least]
    if kept != model.quantiles:
        yield _Taken("quantiles", kept, f"quantiles {', '.join(map(as_given, kept))}", "quantiles")
