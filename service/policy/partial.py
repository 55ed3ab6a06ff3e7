"""Where the partial factor of a policy is taken: for every curve in use that has none of its own.

Only a factor of a document, or the one that divides strengths, is a partial factor here: what a request calls its own
factors says nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from pydantic import BaseModel

from fatcore.figures import as_given

from ..base.rules.policy import Policy
from ..topics.check.judging import CurvesChoice
from ..topics.check.models import CheckRequest
from ..topics.curves.resistance import AnyCorrection, OwnFactor, PartialFactor, ResistanceChoice
from ..topics.curves.routes import LifeQuery, StrengthQuery
from .left_out import left_out
from .walk import Path

FIELD = "resistance_factor"


def factors_taken(policy: Policy, model: BaseModel, path: Path) -> Iterator[tuple[str, Any, str, str]]:
    """Name and value of each field of a part with the factor in it, what is said of it, and under which field.

    Raises : PolicyError where the curve takes none
    """
    factor = policy.defaults.get("partial_factor")
    if factor is None:
        return
    words = f"partial factor {as_given(factor)}"
    if isinstance(model, CheckRequest):
        yield from _of_check(policy, model, words)
    elif isinstance(model, LifeQuery | StrengthQuery):
        if left_out(model, FIELD):
            _guard_stress(policy, model, path)
            yield FIELD, factor, words, FIELD
    elif isinstance(model, ResistanceChoice) and not _has_one(policy, model.corrections):
        _guard_stress(policy, model, path)
        yield "corrections", [*model.corrections, _added(policy)], words, "corrections"


def is_of_policy(policy: Policy, correction: AnyCorrection) -> bool:
    """Whether a correction is the partial factor as the policy itself adds it."""
    return "partial_factor" in policy.defaults and correction == _added(policy)


def _added(policy: Policy) -> OwnFactor:
    reason = f"default of the policy {policy.label}"
    factor = 1.0 / policy.defaults["partial_factor"]
    content = {"kind": "own", "name": "partial factor of the policy", "strength_factor": factor, "reason": reason}
    return OwnFactor.model_validate(content)


def _has_one(policy: Policy, corrections: Sequence[AnyCorrection]) -> bool:
    return any(isinstance(each, PartialFactor) or is_of_policy(policy, each) for each in corrections)


def _guard_stress(policy: Policy, model: BaseModel, path: Path) -> None:
    if getattr(model, "energy_density_mj_m3", None) is not None:
        text = "a partial factor holds for stress ranges, and the request gives none of its own"
        policy.refuse(text, "defaults.partial_factor", *path, "energy_density_mj_m3")


def _of_check(policy: Policy, check: CheckRequest, words: str) -> Iterator[tuple[str, Any, str, str]]:
    """The factor on all strengths of a check, or, where some of its curves have one, on the others."""
    if not left_out(check.target, FIELD):
        return
    shared = any(line.curves is None for line in check.lines)
    own = [line.curves for line in check.lines if line.curves is not None]
    bare = [each for each in own if not _has_one(policy, each.corrections)]
    bare_shared = shared and not _has_one(policy, check.curves.corrections)
    if len(bare) == len(own) and bare_shared == shared:
        yield "target", check.target.model_copy(update={FIELD: policy.defaults["partial_factor"]}), words, FIELD
        return
    if bare_shared:
        yield "curves", _with_factor(policy, check.curves), f"{words} for the curves of the check", "corrections"
    if bare:
        lines = [
            line.model_copy(update={"curves": _with_factor(policy, line.curves)}) if line.curves in bare else line
            for line in check.lines
        ]
        names = ", ".join(line.name for line in check.lines if line.curves in bare)
        yield "lines", lines, f"{words} for the curves of {names}", "corrections"


def _with_factor(policy: Policy, curves: Any) -> CurvesChoice:
    made: CurvesChoice = curves.model_copy(update={"corrections": [*curves.corrections, _added(policy)]})
    return made
