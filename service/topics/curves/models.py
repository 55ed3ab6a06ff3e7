"""Models around design curves: own curves, references to curves, pages of the catalogue."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Discriminator, Field, StringConstraints, Tag

from fatcore.curves import catalogue
from fatcore.curves.curve import Curve, Loading
from fatcore.curves.user_defined import OWN_SOURCE, user_defined_curve, user_defined_scatter

from ...base.common import NonNegative, Number, Positive, Probability, Strict

MAX_SEGMENTS = 20

LoadingRequest = Literal["constant", "variable"]
Segments = Annotated[list[Positive], Field(max_length=MAX_SEGMENTS)]
Text = Annotated[str, StringConstraints(max_length=300)]


class OwnCurve(Strict):
    """A stress-life curve of the user's own.

    Either one point with slopes, or several points, or intercepts with slopes.
    """

    name: Annotated[str, StringConstraints(min_length=1, max_length=100)] = Field(
        default="own", description="what the answer calls the curve"
    )
    origin: Text = Field(default="", description="where the figures come from; repeated in the answer")
    stress_kind: Text = Field(default="own", description="the stress it is meant for")
    range_mpa: Segments = Field(default=[], description="ranges of points on the line, falling [MPa]")
    life_cycles: Segments = Field(default=[], description="lives of those points, rising [cycles]")
    log10_constants: Annotated[list[Number], Field(max_length=MAX_SEGMENTS)] = Field(
        default=[], description="log10 of the constant of each branch, from high to low range"
    )
    slopes: Segments = Field(default=[], description="inverse slope of each branch")
    knee_cycles: Segments | None = Field(default=None, description="lives where branches meet [cycles]")
    step_at_knee: bool = Field(
        default=False, description="branches of log10_constants hold as printed, with the step at knee_cycles"
    )
    cut_off_cycles: Positive | None = Field(
        default=None, description="life beyond which a range does no damage [cycles]"
    )
    survival_probability: Probability | None = Field(default=None, description="of the line as given")
    sd_log10_cycles: NonNegative | None = Field(
        default=None, description="standard deviation of log10 life about the line"
    )
    scatter_index: Annotated[float, Field(ge=1.0, le=1e6)] | None = Field(
        default=None, description="instead of the deviation: strength at low over strength at high survival"
    )
    scatter_index_survival: Annotated[float, Field(gt=0.5, lt=1.0)] = Field(
        default=0.977, description="the high survival probability between which the index is stated"
    )


CurveId = Annotated[str, StringConstraints(min_length=1, max_length=100)]


def _form(value: Any) -> str | None:
    if isinstance(value, str):
        return "id"
    return "own" if isinstance(value, dict | OwnCurve) else None


CurveRef = Annotated[
    Annotated[CurveId, Tag("id")] | Annotated[OwnCurve, Tag("own")],
    Discriminator(
        _form,
        custom_error_type="curve",
        custom_error_message="a curve is an id of the catalogue or an object with a curve of your own",
    ),
]


def curve_from(spec: str | OwnCurve, *, loading: Loading = "variable") -> Curve:
    """The curve of the catalogue, or the user's own; paths of errors start at the curve itself."""
    if isinstance(spec, str):
        return catalogue.find_curve(spec, loading=loading)
    bare = _user_defined(spec, None)
    scatter = user_defined_scatter(
        bare,
        spec.scatter_index,
        upper_survival=spec.scatter_index_survival,
        sd_log10_cycles=spec.sd_log10_cycles,
    )
    return bare if scatter is None else _user_defined(spec, scatter)


def _user_defined(spec: OwnCurve, scatter: float | None) -> Curve:
    return user_defined_curve(
        range_mpa=spec.range_mpa,
        life_cycles=spec.life_cycles,
        log10_constants=spec.log10_constants,
        slopes=spec.slopes,
        knee_cycles=spec.knee_cycles,
        step_at_knee=spec.step_at_knee,
        cut_off_cycles=spec.cut_off_cycles,
        id=spec.name,
        source=OWN_SOURCE,
        title=spec.origin,
        stress_kind=spec.stress_kind,
        material="",
        survival_probability=spec.survival_probability,
        survival_definition="as the user states it",
        sd_log10_cycles=scatter,
    )


class ListAnswer(Strict):
    """The curves that fit, as columns."""

    id: list[str]
    title: list[str]
    document: list[str]
    stress_kind: list[str]
    material: list[str]
    environment: list[str]
    reference_range_mpa: list[float | None]
    reference_energy_density_mj_m3: list[float | None]
    status: list[str]


class CurveAnswer(Strict):
    """Shape of a curve and what its document says about its use; null where it says nothing here."""

    id: str
    title: str
    document: str
    label: str
    where: str
    stress_kind: str
    material: str
    environment: str
    loading: str
    quantity: str
    log10_constants: list[float]
    slopes: list[float]
    knees_mpa: list[float]
    knee_cycles: list[float]
    cut_off_mpa: float | None
    cut_off_cycles: float | None
    reference_range_mpa: float | None
    reference_energy_density_mj_m3: float | None
    survival_probability: float | None
    survival_definition: str
    sd_log10_cycles: float | None
    printed_scatter_index: float | None
    thickness_reference_mm: float | None
    thickness_exponent: float | None
    thickness_exponents: dict[str, float]
    use_limit_over_yield: float | None
    miner_limit: float | None
    miner_note: str
    partial_factors: dict[str, dict[str, float]]
    stress_concentration_factor: float | None
    least_notch_over_structural: float | None
