"""Holds what a request gives against the rules of a policy, field by field, wherever a field of that name stands.

What follows from several fields (the damage sum of a document, the survival that a curve has by itself) is held where
it is settled, in the topics.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from pydantic import BaseModel

from fatcore.figures import as_given
from fatcore.findings import Finding, note

from ..base.rules.policy import Policy
from ..topics.cracks.law import LawRequest
from ..topics.curves.models import LivesTestedRequest
from .defaults import SPECIMEN, calibrated, smallest_constant
from .partial import is_of_policy
from .stands_for import words_of
from .walk import Path, models_in

Guard = Callable[[Policy, BaseModel, Any, Path], None]
CURVE_FIELDS = ("curve", "opening_curve", "shear_curve")
RELIEVED = "stress-relieved"
_BONUS = {"compression-in-part": "effective-range"}  # corrections of the same meaning; all others: mean-stress


def guard_fields(policy: Policy, request: BaseModel) -> None:
    """PolicyError with the path of the first field that is looser than a rule."""
    for path, model in models_in(request):
        if isinstance(model, LawRequest):
            policy.guard_law(model.name, *path, tested=None if model.tested is None else model.tested.name)
        if isinstance(model, LivesTestedRequest) and model.confidence is None and "confidence" in policy.floors:
            text = "the tests behind the curve state no confidence"
            policy.refuse(text, "floors.confidence", *path, "confidence")
        for name in _guarded(type(model)):
            value = getattr(model, name)
            if value is not None:
                GUARDS[name](policy, model, value, (*path, name))
        for name, value in _chosen(policy, model):
            policy.guard_word(f"choices.{name}", value, name.replace("_", " "), *path, name)


def _guarded(model: type[BaseModel]) -> list[str]:
    return [name for name in GUARDS if name in model.model_fields]


def _chosen(policy: Policy, model: BaseModel) -> Iterator[tuple[str, str]]:
    """The words of a model that a list of choices is about."""
    for rule in policy.allowed:
        name = rule.removeprefix("choices.")
        if name != rule and name in type(model).model_fields:
            yield from ((name, word) for word in words_of(model, name))


def names_of_policy(policy: Policy, request: BaseModel) -> Iterator[Finding]:
    """A note for every curve and law of the policy that a request names."""
    for _, model in models_in(request):
        for name in (each for each in CURVE_FIELDS if each in type(model).model_fields):
            curve = getattr(model, name)
            if isinstance(curve, str) and curve in policy.curves:
                text = f"{curve} is a curve of the policy {policy.label}: {policy.curves[curve].title}"
                yield note("policy-curve", text, field=name)
        if isinstance(model, LawRequest) and model.name in policy.laws:
            yield note("policy-law", f"{model.name} is a growth law of the policy {policy.label}", field="name")


def _least(rule: str) -> Guard:
    def guard(policy: Policy, _: BaseModel, value: Any, path: Path) -> None:
        policy.guard_least(rule, value, rule, *path)

    return guard


def _largest(rule: str) -> Guard:
    def guard(policy: Policy, _: BaseModel, value: Any, path: Path) -> None:
        policy.guard_largest(rule, value, rule, *path)

    return guard


def _word(rule: str, what: str) -> Guard:
    def guard(policy: Policy, _: BaseModel, value: Any, path: Path) -> None:
        policy.guard_word(rule, value, what, *path)

    return guard


def _survival(policy: Policy, model: BaseModel, value: Any, path: Path) -> None:
    if "sd_log10_cycles" not in type(model).model_fields:  # a curve of the request's own states what it has
        policy.guard_least("survival_probability", value, "survival_probability", *path)


def _load_factor(policy: Policy, _: BaseModel, value: Any, path: Path) -> None:
    if isinstance(value, float) and SPECIMEN not in path:  # a column of them is of the readings of a test
        policy.guard_least("load_factor", value, "load_factor", *path)


def _element(policy: Policy, model: BaseModel, value: Any, path: Path) -> None:
    if "element_size_mm" in type(model).model_fields:  # elsewhere a mesh is looked at, and no stress judged
        policy.guard_word("elements", value, "the element", *path)


def _residual_stress(policy: Policy, _: BaseModel, value: Any, path: Path) -> None:
    if value != "high":
        policy.guard_word("conditions", RELIEVED, f"the condition that residual stress {value} stands for,", *path)


def _mean_stress(policy: Policy, _: BaseModel, value: Any, path: Path) -> None:
    if value == "none":
        return
    policy.guard_word("conditions", RELIEVED, f"the condition that mean stress {value} stands for,", *path)
    policy.guard_word("corrections", _BONUS.get(value, "mean-stress"), f"what mean stress {value} stands for,", *path)


def _corrections(policy: Policy, _: BaseModel, value: Any, path: Path) -> None:
    for index, each in enumerate(value):
        if is_of_policy(policy, each):
            continue
        policy.guard_word("corrections", each.kind, "the correction", *path, index, "kind")
        if each.kind == "effective-range":
            text = "the condition that an effective range stands for,"
            policy.guard_word("conditions", RELIEVED, text, *path, index, "kind")


def _mesh(policy: Policy, model: BaseModel, mesh: Any, path: Path) -> None:
    """Own element constants: none of them smaller than what the company calibrated, for smaller ones lower stresses."""
    for mode, value in mesh.constants or ():
        if value is not None:
            _constant(policy, model, mode, value, (*path, "constants", mode))


def _constant(policy: Policy, model: BaseModel, mode: str, value: float, path: Path) -> None:
    """One constant: against that of its element, else, unless own ones are allowed by name, against the smallest."""
    found = calibrated(policy, model)
    least = None if found is None else found.by_mode.get(mode)
    if least is None:
        policy.guard_own("own_element_constants", "an element constant of the request's own", *path)
        if not policy.own.get("own_element_constants", False):
            least = smallest_constant(policy, model, mode)
    if least is not None and value < least:
        text = f"the constant {as_given(value)} is below {as_given(least)}, which was calibrated"
        policy.refuse(text, "element_constants", *path)


def _retardation(policy: Policy, _: BaseModel, __: Any, path: Path) -> None:
    policy.guard_own("retardation", "retardation", *path)


def _variables(policy: Policy, _: BaseModel, value: Any, path: Path) -> None:
    if value and "variable_sets" in policy.allowed:
        policy.refuse("distributions of the request's own are not allowed", "allowed.variable_sets", *path)


def _quantiles(policy: Policy, _: BaseModel, value: Any, path: Path) -> None:
    for index, share in enumerate(value):
        what = f"the survival at a probability of failure of {share},"
        policy.guard_least("survival_probability", 1.0 - share, what, *path, index)


def _detectable(policy: Policy, _: BaseModel, __: Any, path: Path) -> None:
    _guard_detection(policy, "a detectable size that no detection probability stands behind", path)


def _detection_curve(policy: Policy, model: BaseModel, value: Any, path: Path) -> None:
    if "detectable_mm" in type(model).model_fields and not isinstance(value, str):
        _guard_detection(policy, "a detection curve of the request's own", path)


def _guard_detection(policy: Policy, what: str, path: Path) -> None:
    if "detection_probability" in policy.floors:
        policy.refuse(f"{what} is not allowed", "floors.detection_probability", *path)


GUARDS: dict[str, Guard] = {
    "below_knee": _word("below_knee", "the form below the knee"),
    "condition": _word("conditions", "the condition"),
    "confidence": _least("confidence"),
    "corrections": _corrections,
    "curve": _detection_curve,
    "detectable_mm": _detectable,
    "detection_probability": _least("detection_probability"),
    "element": _element,
    "exclude_ends_mm": _largest("exclude_ends_mm"),
    "hysteresis_threshold_mpa": _largest("hysteresis_threshold_mpa"),
    "inspections": _least("inspections"),
    "load_factor": _load_factor,
    "mean_stress": _mean_stress,
    "mesh": _mesh,
    "quantiles": _quantiles,
    "residual_stress": _residual_stress,
    "residue": _word("residue", "the residue"),
    "retardation": _retardation,
    "survival_probability": _survival,
    "variable_set": _word("variable_sets", "the set of variables"),
    "variables": _variables,
}
