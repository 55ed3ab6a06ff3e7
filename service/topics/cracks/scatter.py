"""Scatter of the life, and fracture of a cracked section, over HTTP."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from fatcore.cracks.fracture import assessment
from fatcore.cracks.fracture import critical_size as critical
from fatcore.cracks.scatter import monte_carlo
from fatcore.cracks.scatter.random_variables import VARIABLES, Distribution, published_variables
from fatcore.errors import InputError, at

from ...base.common import Reply, Strict, post, reply
from ...base.derive import Derived, answer_of, call, request_of
from ...base.forms.other_units import of_quantities
from ..costs import flat, scatter_cost
from .law import GrowthLoading, LawRequest
from .models import PlateCrack, Word

MAX_SAMPLES = 200_000
MAX_WORK = 500_000
MAX_STATES = 10_000


@request_of(Distribution)
class DistributionRequest(Derived):
    """A positive random variable by its mean and variation, a lognormal one also by median and deviation."""


@request_of(monte_carlo.simulate_scatter, omit=("workers",))
class ScatterRequest(Derived):
    """A surface crack whose inputs scatter."""

    law: LawRequest
    loading: GrowthLoading
    variable_set: Word | None = Field(default=None, description="published set: jcss-part3, dnv-rp-c210")
    variables: Annotated[dict[Word, DistributionRequest], of_quantities(VARIABLES)] = Field(
        default={},
        description="own distributions; they replace those of the published set",
        json_schema_extra={"propertyNames": {"enum": list(VARIABLES)}},
    )
    samples: Annotated[int, Field(ge=16, le=MAX_SAMPLES)] = 10_000


@answer_of(monte_carlo.ScatterOutcome)
class ScatterAnswer(Strict):
    """Life at each probability of failure with confidence bounds; null where the crack is arrested."""


@post(
    "cracks/scatter",
    ScatterRequest,
    ScatterAnswer,
    revision=6,
    summary="Scatter of the life of a crack",
    cost=scatter_cost,
)
def simulate_lives(request: ScatterRequest) -> Reply:
    """Seeded Monte Carlo over first size, shape, growth constants and loads.

    The same seed gives the same samples. Sensitivities are rank correlations with the life.
    """
    with at("loading"):
        loading = request.loading.to_core()
    if request.samples * loading.count.size > MAX_WORK:
        raise InputError(f"samples times entries of the block must not exceed {MAX_WORK}", "samples")
    found = call(monte_carlo.simulate_scatter, request, loading=loading, variables=_variables(request))
    return reply(ScatterAnswer, found)


def _variables(request: ScatterRequest) -> dict[str, Distribution]:
    with at("variable_set"):
        chosen = dict(published_variables(request.variable_set)) if request.variable_set is not None else {}
    for name, entry in request.variables.items():
        with at("variables", name):
            if name in ("depth_mm", "aspect_ratio") and request.first_size == "crack":
                raise InputError("first_size says that the crack counts: leave this variable out")
            chosen[name] = entry.to_core()
    if not chosen:
        raise InputError("nothing scatters: name a published set or give variables", "variables")
    return chosen


@request_of(assessment.assess_fracture, rows=MAX_STATES)
class FractureRequest(Derived):
    """States of a crack as columns of one length."""


@answer_of(assessment.FractureOutcome)
class FractureAnswer(Strict):
    """Position of each state in the failure assessment diagram."""


@post("cracks/fracture", FractureRequest, FractureAnswer, revision=2, summary="Failure assessment diagram")
def fracture_states(request: FractureRequest) -> Reply:
    """Whether cracked states lie inside the failure assessment line, and the load factor up to it."""
    return reply(FractureAnswer, call(assessment.assess_fracture, request))


@request_of(critical.find_critical_size)
class CriticalRequest(Derived):
    """A crack, the stress at load factor 1 and the largest load factor."""

    crack: PlateCrack


@answer_of(critical.CriticalOutcome)
class CriticalAnswer(Strict):
    """Critical size in the shape of the crack; null when no crack inside the body is critical."""


@post(
    "cracks/critical-size",
    CriticalRequest,
    CriticalAnswer,
    revision=3,
    summary="Critical size of a crack",
    cost=flat(0.04),
)
def critical_size(request: CriticalRequest) -> Reply:
    """Smallest crack of the given shape that meets the failure assessment line."""
    return reply(CriticalAnswer, call(critical.find_critical_size, request))
