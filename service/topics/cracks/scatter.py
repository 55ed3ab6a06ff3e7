"""Scatter of the life, and fracture of a cracked section, over HTTP."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated, Any, Literal

from pydantic import Field

from fatcore.cracks.driving import mixed_mode
from fatcore.cracks.fracture import assessment
from fatcore.cracks.fracture import critical_size as critical
from fatcore.cracks.scatter import monte_carlo
from fatcore.cracks.scatter.random_variables import VARIABLES, Distribution, published_variables
from fatcore.errors import InputError, UnknownError, at
from fatcore.findings import Finding, note
from fatcore.plausible import intensity_doubts

from ...base.common import NonNegative, Number, Positive, Probability, Reply, Strict, post, reply
from .law import GrowthLoading, LawRequest, law_from, loading_from
from .models import (
    MaterialRequest,
    PlateCrack,
    StressRequest,
    SurfaceRequest,
    Word,
    crack_from,
    strength_from,
    stress_from,
)

MAX_SAMPLES = 200_000
MAX_WORK = 500_000
QUANTILES = (0.001, 0.01, 0.023, 0.1, 0.5)

States = Annotated[list[NonNegative], Field(min_length=1, max_length=10_000)]
Criterion = Literal["largest", "tangential-stress", "tanaka", "energy", "richard"]
Line = Literal["continuous", "plateau", "older"]


class DistributionRequest(Strict):
    """A positive random variable by its mean and variation, a lognormal one also by median and deviation."""

    kind: Literal["lognormal", "normal", "exponential", "weibull", "fixed"]
    mean: Positive | None = None
    variation: Annotated[float, Field(gt=0.0, le=10.0)] | None = None
    median: Positive | None = None
    log_deviation: Annotated[float, Field(gt=0.0, le=10.0)] | None = None


class ScatterRequest(Strict):
    """A surface crack whose inputs scatter."""

    crack: SurfaceRequest
    stress: StressRequest
    law: LawRequest
    loading: GrowthLoading
    condition: Literal["as-welded", "stress-relieved"] = "as-welded"
    variable_set: Word | None = Field(default=None, description="published set: jcss-part3, dnv-rp-c210")
    variables: dict[Word, DistributionRequest] = Field(
        default={},
        description="own distributions; they replace those of the published set",
        json_schema_extra={"propertyNames": {"enum": list(VARIABLES)}},
    )
    samples: Annotated[int, Field(ge=16, le=MAX_SAMPLES)] = 10_000
    seed: Annotated[int, Field(ge=0, le=2**63 - 1)] = 1
    first_size: Literal["crack", "variables"] | None = Field(
        default=None, description="which counts; needed where variables give depth_mm or aspect_ratio as well"
    )
    last_depth_mm: Positive | None = None
    quantiles: list[Probability] = Field(default=list(QUANTILES), min_length=1, max_length=100)


class ScatterAnswer(Strict):
    """Life at each probability of failure with confidence bounds; null where the crack stands still."""

    samples: int
    seed: int
    quantiles: list[float]
    life_cycles: list[float | None]
    life_low_cycles: list[float | None]
    life_high_cycles: list[float | None]
    infinite_life_share: float
    mean_log_life: float | None
    log_life_deviation: float | None
    sensitivity: dict[str, float]
    convergence: float | None
    verification_error: float
    verified_samples: int
    averaging_error: float | None


@post("cracks/scatter", ScatterRequest, ScatterAnswer, revision=3, summary="Scatter of the life of a crack")
def simulate_lives(request: ScatterRequest) -> Reply:
    """Seeded Monte Carlo over first size, shape, growth constants and loads.

    The same seed gives the same samples. Sensitivities are rank correlations with the life.
    """
    crack, loading = crack_from(request.crack), loading_from(request.loading)
    if request.samples * loading.count.size > MAX_WORK:
        raise InputError(f"samples times entries of the block must not exceed {MAX_WORK}", "samples")
    outcome = monte_carlo.simulate_scatter(
        crack=crack,  # type: ignore[arg-type]
        stress=stress_from(request.stress),
        law=law_from(request.law),
        loading=loading,
        variables=_variables(request),
        samples=request.samples,
        seed=request.seed,
        last_depth_mm=request.last_depth_mm,
        condition=request.condition,
        quantiles=request.quantiles,
        first_size=request.first_size,
    )
    return reply(ScatterAnswer, outcome)


def _variables(request: ScatterRequest) -> dict[str, Distribution]:
    with at("variable_set"):
        chosen = dict(published_variables(request.variable_set)) if request.variable_set is not None else {}
    for name, entry in request.variables.items():
        with at("variables", name):
            if name not in VARIABLES:
                raise UnknownError("random variable", name, VARIABLES)
            if name in ("depth_mm", "aspect_ratio") and request.first_size == "crack":
                raise InputError("first_size says that the crack counts: leave this variable out")
            chosen[name] = Distribution(**entry.model_dump())
    if not chosen:
        raise InputError("nothing scatters: name a published set or give variables", "variables")
    return chosen


class FractureRequest(Strict):
    """States of a crack as columns of one length."""

    strength: MaterialRequest
    line: Line = "continuous"
    k_primary_mpa_sqrt_mm: States = Field(description="of the opening mode")
    reference_stress_mpa: States
    k_secondary_mpa_sqrt_mm: States | None = None
    k_sliding_mpa_sqrt_mm: States | None = Field(default=None, description="of the sliding mode")
    k_tearing_mpa_sqrt_mm: States | None = Field(default=None, description="of the tearing mode")
    criterion: Criterion | None = Field(
        default=None, description="how modes are combined; null is the largest of all criteria"
    )


class FractureAnswer(Strict):
    """Position of each state in the failure assessment diagram."""

    load_ratio_to_yield: list[float]
    fracture_ratio: list[float]
    allowed_ratio: list[float]
    interaction_term: list[float]
    reserve_factor: list[float | None]
    acceptable: list[bool]


@post("cracks/fracture", FractureRequest, FractureAnswer, revision=1, summary="Failure assessment diagram")
def fracture_states(request: FractureRequest) -> Reply:
    """Whether cracked states lie inside the failure assessment line, and the load factor up to it."""
    secondary = request.k_secondary_mpa_sqrt_mm
    primary, found = _all_modes(request)
    outcome = assessment.assess_fracture(
        primary,
        request.reference_stress_mpa,
        strength_from(request.strength, "strength"),
        k_secondary_mpa_sqrt_mm=0.0 if secondary is None else secondary,
        line=request.line,
    )
    small = intensity_doubts(primary, "primary stress intensity", "k_primary_mpa_sqrt_mm")
    return reply(FractureAnswer, replace(outcome, findings=(*outcome.findings, *found, *small)))


def _all_modes(request: FractureRequest) -> tuple[Any, tuple[Finding, ...]]:
    """Equivalent stress intensity of the modes given."""
    sliding, tearing = request.k_sliding_mpa_sqrt_mm, request.k_tearing_mpa_sqrt_mm
    if sliding is None and tearing is None:
        if request.criterion is not None:
            raise InputError("a criterion has a meaning only with several modes", "criterion")
        message = "the primary stress intensity was taken as that of the opening mode, without shear"
        return request.k_primary_mpa_sqrt_mm, (note("opening-mode-only", message),)
    return mixed_mode.combine_modes(
        request.k_primary_mpa_sqrt_mm,
        0.0 if sliding is None else sliding,
        0.0 if tearing is None else tearing,
        criterion=request.criterion or "largest",
    )


class CriticalRequest(Strict):
    """A crack, the stress at load factor 1 and the largest load factor."""

    crack: PlateCrack
    stress: StressRequest
    strength: MaterialRequest
    maximum: Number = 1.0
    line: Line = "continuous"


class CriticalAnswer(Strict):
    """Critical size in the shape of the crack; null when no crack inside the body is critical."""

    critical_mm: float | None
    critical_half_length_mm: float | None
    load_ratio_to_yield: float | None
    fracture_ratio: float | None


@post("cracks/critical-size", CriticalRequest, CriticalAnswer, revision=2, summary="Critical size of a crack")
def critical_size(request: CriticalRequest) -> Reply:
    """Smallest crack of the given shape that meets the failure assessment line."""
    outcome = critical.find_critical_size(
        crack_from(request.crack),  # type: ignore[arg-type]
        stress_from(request.stress),
        strength_from(request.strength, "strength"),
        maximum=request.maximum,
        line=request.line,
    )
    return reply(CriticalAnswer, outcome)
