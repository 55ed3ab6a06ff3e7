"""Routes of the stress intensities: families by name, weight functions on a stress path, K(a) tables."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Any

import numpy as np

from fatcore.cracks.intensity.families import FAMILIES, family
from fatcore.cracks.intensity.family import REQUIRED, Family, Parameter
from fatcore.cracks.intensity.weight_function import intensity as weight
from fatcore.cracks.intensity.weight_function.profiles import PathProfile, PolynomialProfile
from fatcore.errors import FatcoreError, InputError, at
from fatcore.outcome import Outcome, evidence
from fatcore.quantities import quantity

from ...base.common import Reply, get, post, reply
from . import intensity_models as models


@post(
    "cracks/intensity",
    models.IntensityRequest,
    models.IntensityAnswer,
    revision=2,
    summary="Stress intensity factors",
)
def intensity(request: models.IntensityRequest) -> Reply:
    """Stress intensity factors of cracks of a named family, of cracks under any stress through the thickness
    by weight functions, or from a table of the user's own simulation. Negative values mean a closed crack."""
    crack = request.crack
    with at("crack"):
        if isinstance(crack, models.NamedFamilyRequest):
            return _by_family(crack)
        return _by_path(crack) if isinstance(crack, models.PathRequest) else _by_table(crack)


@get("cracks/families", models.FamiliesRequest, models.FamiliesAnswer, revision=1, summary="Families of cracks")
def families(request: models.FamiliesRequest) -> Reply:
    """Every family of cracks with its size, arguments and validity limits."""
    word = (request.text or "").lower()
    found = [item for item in FAMILIES.values() if word in f"{item.name} {item.title}".lower()]
    sources = [limit.source for item in found for limit in item.limits]
    return reply(
        models.FamiliesAnswer, Outcome(**evidence(sources=sources)), families=[_list_families(f) for f in found]
    )


def _by_family(crack: models.NamedFamilyRequest) -> Reply:
    chosen = family(crack.family)
    with _map_error_path(chosen, crack.parameters):
        outcome = chosen.intensity(crack.crack_size_mm, **crack.parameters)
    return _opening(outcome, outcome.k_mpa_sqrt_mm)


def _by_path(crack: models.PathRequest) -> Reply:
    lengths = (crack.half_length_mm, crack.thickness_mm)
    outcome = weight.stress_intensity(_profile(crack), crack.depth_mm, *lengths, crack.point, crack.half_width_mm)
    return _opening(outcome, outcome.k_mpa_sqrt_mm)


def _profile(crack: models.PathRequest) -> PathProfile | PolynomialProfile:
    points, polynomial = (crack.distance_mm, crack.stress_mpa), (crack.coefficients_mpa, crack.reference_mm)
    given = [value is not None for value in (*points, *polynomial)]
    if given == [True, True, False, False]:
        return PathProfile(*points)  # type: ignore[arg-type]
    if given == [False, False, True, True]:
        return PolynomialProfile(*polynomial)  # type: ignore[arg-type]
    raise InputError("give distance_mm with stress_mpa, or coefficients_mpa with reference_mm")


def _by_table(crack: models.TabledRequest) -> Reply:
    return reply(models.IntensityAnswer, crack.to_core().intensity(crack.at_mm))


def _opening(outcome: Outcome, k: Any) -> Reply:
    values = np.atleast_1d(k)
    rest = dict.fromkeys(("sliding_mpa_sqrt_mm", "tearing_mpa_sqrt_mm", "aspect_ratio"))
    return reply(models.IntensityAnswer, outcome, opening_mpa_sqrt_mm=values, crack_closed=values < 0.0, **rest)


@contextmanager
def _map_error_path(chosen: Family, parameters: Mapping[str, Any]) -> Iterator[None]:
    """Errors of a family point to `crack_size_mm` or into `parameters`."""
    try:
        yield
    except FatcoreError as error:
        first, *rest = error.path
        of_size = first == chosen.size and first not in parameters
        error.path = ("crack_size_mm", *rest) if of_size else ("parameters", first, *rest)
        raise


def _list_families(item: Family) -> dict[str, Any]:
    return {
        "name": item.name,
        "title": item.title,
        "size": item.size,
        "parameters": [_parameter(parameter) for parameter in item.parameters],
        "limits": [dataclasses.asdict(limit) for limit in item.limits],
    }


def _parameter(item: Parameter) -> dict[str, Any]:
    entry = quantity(item.name)
    needed = item.default is REQUIRED
    return {
        "name": item.name,
        "meaning": entry.meaning,
        "unit": entry.unit,
        "role": item.role,
        "needed": needed,
        "default": None if needed else item.default,
        "choices": list(item.choices),
    }
