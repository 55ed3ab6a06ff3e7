"""What a request leaves out: no load, no factor, one pass; every other number with its reason."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
from collections.abc import Iterator
from typing import Any, get_args

import pytest
from pydantic import BaseModel
from pydantic.fields import FieldInfo

import fatcore
import service
from service.topics.registry import load

NO_LOAD = ("_mpa", "_nmm")  # of a stress, a stiffness: what is not given is not there
NO_FACTOR = ("_factor", "repeats")
REASONS: dict[str, tuple[float, str]] = {
    "maximum": (1.0, "the stress given is that of the maximum"),
    "minimum": (0.0, "and falls to nothing"),
    "digits": (3, "of a text; numbers keep all of theirs"),
    "offset_mm": (0.0, "a member in the plane of the crack"),
    "exclude_ends_mm": (0.0, "every station is judged"),
    "significance": (0.05, "of a test of linearity or difference, which decides no number"),
    "average_over": (1, "no average: the largest peak stays"),
    "degree": (1, "straight line of two points"),
    "window_low": (0.4, "0.4 thicknesses from the toe [iiw-2016]"),
    "window_high": (1.5, "to 1.5 thicknesses"),
    "inspections": (2, "one missed inspection"),
    "classes": (64, "of a range count"),
    "slope": (3.0, "of welded joints in normal stress"),
    "samples": (10_000, "of a simulation"),
    "seed": (1, "of its generator"),
    "lower": (0.05, "biaxiality ratio below which opening decides"),
    "upper": (0.5, "and above which shear decides"),
    "control_radius_mm": (0.28, "arc-welded structural steel"),
    "poisson_ratio": (0.3, "steel"),
    "opening_limit_deg": (155.0, "more edges are candidates than an angle of 135 deg needs"),
    "kink_deg": (35.0, "a line is cut at a corner of the weld"),
    "jump_deg": (20.0, "a line is cut where another notch begins"),
    "root_below_deg": (60.0, "no fillet is so sharp"),
    "rounded_share": (0.3, "what it leaves out is listed with its place"),
    "least_nodes": (3, "what it leaves out is listed with its place"),
    "youngs_modulus_mpa": (206_000.0, "steel"),
    "scatter_index_survival": (0.977, "two deviations from the mean"),
}
WORDS: dict[str, Any] = {
    "basis": "peak-stress",
    "below_knee": "as-curve",
    "coefficients": "exact",
    "condition": "as-welded",
    "control": "force",
    "criterion": "largest",
    "gauge": "load-line",
    "cycles": "governing",
    "definition": "governing",
    "distribution": "normal",
    "form": "accurate",
    "integration": "exact-moment",
    "kind": "none",
    "line": "continuous",
    "loading": "variable",
    "material": "steel",
    "mean_stress": "none",
    "plane": "strain",
    "point": "deepest",
    "residue": "closed",
    "size_kind": "unknown",
    "stress_kind": "own",
    "threshold_form": "cut",
    "toe_form": "plane",
    "transitions": "added",
    "zone_state": "plane-stress",
}
OF_A_MODEL: dict[tuple[str, str], Any] = {
    ("BiaxialityCurves", "rule"): "biaxiality",
    ("CyclesRequest", "rule"): "rainflow",
    ("CyclesRequest", "list_cycles"): True,
    ("CyclesRequest", "unit_stated"): True,  # JSON states MPa; a table that names no unit says so
    ("DamageRequest", "unit_stated"): True,
    ("UserDefinedCurve", "name"): "own",
    ("UserDefinedCurve", "origin"): "",
    ("PeakMaterial", "name"): "structural-steel",
    ("CheckMaterial", "name"): "structural-steel",
    ("BiaxialityCurves", "opening_curve"): "peak-stress-opening",
    ("BiaxialityCurves", "shear_curve"): "peak-stress-shear",
    ("CheckRequest", "title"): "",
    ("DamageRequest", "title"): "",
    ("GrowthRequest", "title"): "",
    ("SnRequest", "title"): "",
    ("GrowthRateRequest", "title"): "",
    ("SeriesInput", "name"): "series",
    ("GrowthTestInput", "name"): "specimen",
}


def models(annotation: Any) -> Iterator[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
        for field in annotation.model_fields.values():
            yield from models(field.annotation)
    for each in get_args(annotation):
        yield from models(each)


NOT_GIVEN = (*NO_LOAD, "_mpa_sqrt_mm", "_mpa_mm_lambda", "_utilisation", "_ramp", "_mismatch", "_share")
OF_THE_CORE: dict[str, float] = {
    "added_entries": 0,
    "angle_deg": 90.0,  # the deepest point
    "below_load_ratio": 0.0,
    "count": 1,
    "cycles": 2e6,  # of a category
    "drop": 0.0,
    "exponent": 1.5,  # of retardation
    "factor": 1.0,
    "high": 180.0,  # of an angle
    "high_from_load_ratio": 0.5,  # both editions of the growth laws
    "highest_load_ratio": 1.0,
    "lasting": 1.0,
    "load_ratio": 0.0,
    "low": 0.0,
    "raised": 1.0,
    "range_count": 1,
    "reference_cycles": 1.0,
    "scale": 1.0,
    "step_deg": 1.0,
    "upper_survival": 0.977,
}
EFFORT = {"workers", "steps", "samples_at_once"}  # more of it moves no number
TRUE = {
    ("line_evaluation", "with_sliding"),
    ("interaction", "proportional"),
    ("inspection", "kind_known"),
    ("limits_of_use", "below"),  # small ranges are looked at, too
    ("settings", "worker_processes"),  # what computes can be ended
}  # on the safe side
OF_ONE_MODULE = {
    ("figures", "digits"): {3, 12},  # of a text; a coordinate is as it was given
    ("law", "overlap"): {1},  # rates share no reading
    ("pooled", "overlap"): {1},
    ("factors", "width"): {0.0},  # a limit at one depth
    ("factors", "parameters"): {2},  # of a straight line
}
AVERAGED = ("line_evaluation", "average_over")  # of the method itself, where the user has chosen to average


def functions(held: Any, module: str) -> Iterator[Any]:
    """Functions and constructors of a module or class."""
    for each in vars(held).values():
        plain = getattr(each, "__func__", each)
        if inspect.isclass(plain) and plain.__module__ == module and plain is not held:
            yield from functions(plain, module)
        elif inspect.isfunction(plain) and plain.__module__ == module:
            yield plain


MODULES = [
    module.name
    for package in (fatcore, service)
    for module in pkgutil.walk_packages(package.__path__, f"{package.__name__}.")
    if not module.name.endswith("__main__") and ".verification" not in module.name
]


@pytest.mark.parametrize("module", MODULES)
def test_what_a_call_leaves_out_is_no_or_neutral_or_the_one_of_the_requests(module: str) -> None:
    for function in functions(importlib.import_module(module), module):
        for name, each in inspect.signature(function).parameters.items():
            where = module.rpartition(".")[2], name
            if isinstance(each.default, bool):
                assert each.default == (where in TRUE), where
            elif module.startswith("service") or name in EFFORT or where == AVERAGED:
                continue
            elif where in OF_ONE_MODULE:
                assert each.default in {*OF_ONE_MODULE[where], inspect.Parameter.empty}, where
            elif isinstance(each.default, int | float):
                neutral = 1.0 if name.endswith(NO_FACTOR) else None
                neutral = 0.0 if name.endswith(NOT_GIVEN) else neutral
                assert each.default == {**{k: v for k, (v, _) in REASONS.items()}, **OF_THE_CORE}.get(name, neutral), (
                    where
                )


MODELS = {model.__name__: model for each in load().values() for model in models(each.request)}
FIELDS = [
    pytest.param(model, name, field, id=f"{model}-{name}")
    for model, each in sorted(MODELS.items())
    for name, field in each.model_fields.items()
    if isinstance(field.default, bool | int | float | str)
]


@pytest.mark.parametrize(("model", "name", "field"), FIELDS)
def test_a_field_left_out_is_neutral_or_means_what_is_written_here(model: str, name: str, field: FieldInfo) -> None:
    if (model, name) in OF_A_MODEL:
        expected = OF_A_MODEL[model, name]
    elif isinstance(field.default, bool):
        expected = False
    elif isinstance(field.default, str):
        expected = WORDS[name]
    elif name in REASONS:
        expected = REASONS[name][0]
    else:
        assert name.endswith(NO_LOAD + NO_FACTOR)
        expected = 0.0 if name.endswith(NO_LOAD) else 1.0
    assert field.default == expected
