"""Request and answer models of the topic stress."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from fatcore.check.line import Material, Mesh, Notch

from ...base.common import MAX_POINTS, NonNegative, Number, Positive, Strict
from ...base.derive import Derived, call, request_of

Column = Annotated[list[Number], Field(min_length=1, max_length=MAX_POINTS)]
Shares = Annotated[list[NonNegative], Field(min_length=1, max_length=MAX_POINTS)]
Vector = Annotated[list[Number], Field(min_length=3, max_length=3)]
Vectors = Annotated[list[Vector], Field(min_length=1, max_length=MAX_POINTS)]
Angle = Annotated[float, Field(ge=0.0, lt=180.0, description="angle between the notch faces, 0 for a crack")]
Poisson = Annotated[float, Field(ge=0.0, le=0.5)]
Coefficients = Annotated[
    Literal["exact", "published-fit"],
    Field(description="energy coefficients: exact integrals, or fits as printed (Poisson's ratio 0.3 only)"),
]
Name = Annotated[str, Field(min_length=1, max_length=200)]
Slope = Annotated[float, Field(ge=1.0, le=50.0)]


class ModeNumbers(Strict):
    """One number for each mode; sliding is null where that mode is not singular."""

    opening: float
    sliding: float | None
    tearing: float


@request_of(Notch)
class PeakNotch(Derived):
    """Notch of the line; notch_size_mm is the reference length of the mesh rule, null leaves the mesh
    unchecked.
    """


class PeakConstants(Strict):
    """Own element constants by mode; each replaces the published one."""

    opening: Positive | None = None
    sliding: Positive | None = None
    tearing: Positive | None = None


@request_of(Mesh)
class PeakMesh(Derived):
    """Elements along the line; element_size_mm is the average element size given to the mesher."""

    constants: PeakConstants | None = None

    def to_core(self) -> Mesh:
        """The mesh with its constants by the name of the mode."""
        return call(Mesh, self, constants=None if self.constants is None else self.constants.model_dump())


@request_of(Material)
class PeakMaterial(Derived):
    """Material; the radius may be left out for structural-steel, aluminium-alloy, austenitic-steel."""


class PeakInput(Strict):
    """Signed peaks, or their ranges, in the local frame; a mode left out counts zero."""

    opening: Column
    sliding: Column | None = None
    tearing: Column | None = None


class TensorInput(Strict):
    """Nodal stress tensors of the corner nodes in order along the line, one column a component."""

    xx: Column
    yy: Column
    zz: Column
    xy: Column
    yz: Column
    zx: Column


class LoadRatios(Strict):
    """Load ratio of each mode, minimum over maximum."""

    opening: Number
    sliding: Number | None = None
    tearing: Number


class PeakRequest(Strict):
    """Peaks, or nodal tensors with the line's directions, of one weld line."""

    notch: PeakNotch
    mesh: PeakMesh
    material: PeakMaterial = PeakMaterial()
    condition: Literal["as-welded", "stress-relieved"] = "as-welded"
    load_ratio: Number | LoadRatios | None = Field(default=None, description="needed when stress-relieved")
    coefficients: Coefficients = "exact"
    peaks_mpa: PeakInput | None = None
    tensors_mpa: TensorInput | None = None
    tangent: Vectors | None = Field(default=None, description="along the line, with tensors")
    bisector: Vectors | None = Field(default=None, description="into the material, with tensors")
    position_mm: Column | None = Field(default=None, description="along the line, to judge the mesh size")
    coordinates_mm: Vectors | None = Field(default=None, description="of the nodes, to judge the mesh size")
    closed: bool = Field(default=False, description="the line is a loop")
    average_over: Literal[1, 3] = Field(default=1, description="mean over adjacent corner nodes of tensors")


class PeakColumns(Strict):
    """Peaks of the three modes in the local frame."""

    opening: list[float]
    sliding: list[float]
    tearing: list[float]


class PeakAnswer(Strict):
    """Equivalent stress and biaxiality of every station; the ratio is null where the opening peak is zero."""

    weights: ModeNumbers
    constants: ModeNumbers
    eigenvalues: ModeNumbers
    energy_coefficients: ModeNumbers
    mean_stress_coefficients: ModeNumbers
    peaks_mpa: PeakColumns | None
    equivalent_stress_mpa: list[float]
    biaxiality_ratio: list[float | None]
    governing_index: int


class IntensityInput(Strict):
    """Notch stress intensities or their ranges; columns of one length, a mode left out counts zero."""

    k1_mpa_mm_lambda: Column
    k2_mpa_mm_lambda: Column | None = None
    k3_mpa_mm_lambda: Column | None = None


class SectorInput(Strict):
    """Strain energy that a model stores in the whole sector of the control radius."""

    strain_energy_nmm: Shares
    thickness_mm: Positive = Field(description="length of the sector along the notch line")


class EnergyRequest(Strict):
    """Exactly one of intensities, sector (both with angle and radius), energy density, equivalent stress."""

    opening_angle_deg: Angle | None = None
    youngs_modulus_mpa: Positive
    poisson_ratio: Poisson = 0.3
    material: Name | None = Field(default=None, description="its published control radius is taken")
    control_radius_mm: Positive | None = Field(default=None, description="radius of the sector")
    coefficients: Coefficients = "exact"
    intensities: IntensityInput | None = None
    sector: SectorInput | None = None
    energy_density_mj_m3: Shares | None = None
    equivalent_stress_mpa: Shares | None = None


class EnergyAnswer(Strict):
    """Mean energy of the sector and the stress of equal energy; unknown parts are null."""

    energy_density_mj_m3: list[float]
    opening_mj_m3: list[float] | None
    sliding_mj_m3: list[float] | None
    tearing_mj_m3: list[float] | None
    equivalent_stress_mpa: list[float]


class HotSpotRequest(Strict):
    """Either a path (distance_mm, stress_mpa), or reference_stress_mpa with one column a reference point."""

    rule: Literal["linear-fine", "linear-coarse", "quadratic", "fixed-fine", "fixed-coarse", "least-squares"]
    thickness_mm: Positive | None = Field(default=None, description="with the toe; needed unless fixed-")
    distance_mm: Column | None = None
    stress_mpa: Column | None = None
    reference_stress_mpa: list[Column] | None = Field(default=None, min_length=1, max_length=3)
    degree: Literal[1, 2] = Field(default=1, description="of the least-squares polynomial")
    window_low: Positive = Field(default=0.4, description="start of the least-squares window in thicknesses")
    window_high: Positive = Field(default=1.5, description="end of the least-squares window in thicknesses")


class HotSpotAnswer(Strict):
    """Structural stress at the toe, one a station, with the points that it rests on."""

    hot_spot_stress_mpa: list[float]
    reference_distance_mm: list[float]
    reference_stress_mpa: list[list[float]]
    weights: list[float]


class LineariseRequest(Strict):
    """Either coefficients of a polynomial in depth over thickness, or points through the thickness."""

    coefficients_mpa: Annotated[list[Number], Field(min_length=1, max_length=50)] | None = None
    distance_mm: Column | None = Field(default=None, description="from the first surface, from 0 on")
    stress_mpa: Column | None = None
    integration: Literal["exact-moment", "trapezoid"] = Field(
        default="exact-moment", description="between points: exact for straight lines, or plain trapezoids"
    )


class LineariseAnswer(Strict):
    """Parts at the first surface, structural_far_mpa and peak_far_mpa at the far one."""

    membrane_mpa: float
    bending_mpa: float
    structural_mpa: float
    structural_far_mpa: float
    peak_mpa: float
    peak_far_mpa: float
    thickness_mm: float | None


class InteractionRequest(Strict):
    """Utilisations (range over resisting range, factors included) of normal and shear stress."""

    form: Literal["en-1993-1-9", "iiw-2016", "en-13001-3-1"]
    normal_utilisation: Shares
    shear_utilisation: Shares
    transverse_utilisation: Shares | None = Field(default=None, description="en-13001-3-1 only")
    proportional: bool | None = Field(default=None, description="iiw-2016 only: stresses go together")
    material: Literal["steel", "aluminium"] = Field(default="steel", description="iiw-2016 only")
    normal_slope: Slope | None = Field(default=None, description="en-13001-3-1 only: slope of the curve")
    transverse_slope: Slope | None = Field(default=None, description="en-13001-3-1 only")
    shear_slope: Slope | None = Field(default=None, description="en-13001-3-1 only")


class InteractionAnswer(Strict):
    """Sum of the published form, at most 1 passes, and the factor on all ranges that it amounts to."""

    interaction_sum: list[float]
    utilisation: list[float]


class NotchRequest(Strict):
    """A sharp notch."""

    opening_angle_deg: Angle
    poisson_ratio: Poisson = 0.3
    coefficients: Coefficients = "exact"


class NotchAnswer(Strict):
    """Exponents, field constants and energy coefficients."""

    opening_angle_deg: float
    poisson_ratio: float
    eigenvalues: ModeNumbers
    auxiliary_opening: float
    auxiliary_sliding: float
    energy_coefficients: ModeNumbers
    sliding_singular: bool
    sliding_limit_angle_deg: float


class ConstantRequest(Strict):
    """Peaks of one mode from models whose notch stress intensity is known, one a mesh."""

    mode: Literal["opening", "sliding", "tearing"]
    opening_angle_deg: Angle
    intensity_mpa_mm_lambda: Number
    peak_mpa: Column
    element_size_mm: Annotated[list[Positive], Field(min_length=1, max_length=MAX_POINTS)]


class ConstantAnswer(Strict):
    """Mean constant, largest distance of a mesh from it, and the constant of each mesh."""

    constant: float
    scatter_pct: float
    constants: list[float]
