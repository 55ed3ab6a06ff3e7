"""Request and answer models of the topic stress."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from fatcore.bounds import NonNegative, Number, Positive
from fatcore.check.line import Material, Mesh, Notch
from fatcore.stress.interaction import Interaction, Metal, Slope, combine_en
from fatcore.stress.mean_stress import Condition
from fatcore.stress.modes import Mode, ModeValues
from fatcore.stress.notch.constants import NotchConstants, notch_constants
from fatcore.stress.notch.energy import AveragedEnergy, energy_from_intensities, energy_from_sector
from fatcore.stress.notch.energy_coefficients import CoefficientChoice
from fatcore.stress.notch.fields import OpeningAngle
from fatcore.stress.peak.calibration import Calibration, calibrate_element
from fatcore.stress.structural.hot_spot import hot_spot_least_squares
from fatcore.stress.structural.linearise import linearise_path
from fatcore.stress.weld_lines.symmetric_ends import LineEnd

from ...base.common import MAX_POINTS, Strict
from ...base.derive import Derived, answer_of, call, request_of

Column = Annotated[list[Number], Field(min_length=1, max_length=MAX_POINTS)]
Shares = Annotated[list[NonNegative], Field(min_length=1, max_length=MAX_POINTS)]
Vector = Annotated[list[Number], Field(min_length=3, max_length=3)]
Vectors = Annotated[list[Vector], Field(min_length=1, max_length=MAX_POINTS)]
Name = Annotated[str, Field(min_length=1, max_length=200)]


@answer_of(ModeValues)
class ModeNumbers(Strict):
    """One number for each mode; sliding is null where that mode is not singular."""


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


@request_of(Material, omit=("material_family",))
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
    condition: Condition = "as-welded"
    load_ratio: Number | LoadRatios | None = Field(default=None, description="needed when stress-relieved")
    coefficients: CoefficientChoice = "exact"
    peaks_mpa: PeakInput | None = None
    tensors_mpa: TensorInput | None = None
    tangent: Vectors | None = Field(default=None, description="along the line, with tensors")
    bisector: Vectors | None = Field(default=None, description="into the material, with tensors")
    position_mm: Column | None = Field(default=None, description="along the line, to judge the mesh size")
    coordinates_mm: Vectors | None = Field(default=None, description="of the nodes, to judge the mesh size")
    closed: bool = Field(default=False, description="the line is a loop")
    average_over: Literal[1, 3] = Field(default=1, description="mean over adjacent corner nodes of tensors")
    symmetric_ends: Annotated[list[LineEnd], Field(max_length=2)] = Field(default_factory=list)


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


@request_of(energy_from_sector, omit=("opening_angle_deg", "control_radius_mm"))
class SectorInput(Derived):
    """Strain energy that a model stores in the whole sector of the control radius."""


@request_of(energy_from_intensities, omit=tuple(IntensityInput.model_fields))
class EnergyRequest(Derived):
    """Exactly one of intensities, sector (both with angle and radius), energy density, equivalent stress."""

    opening_angle_deg: OpeningAngle | None = None
    material: Name | None = Field(default=None, description="its published control radius is taken")
    control_radius_mm: Positive | None = Field(default=None, description="radius of the sector")
    intensities: IntensityInput | None = None
    sector: SectorInput | None = None
    energy_density_mj_m3: Shares | None = None
    equivalent_stress_mpa: Shares | None = None


@answer_of(AveragedEnergy)
class EnergyAnswer(Strict):
    """Mean energy of the sector and the stress of equal energy; unknown parts are null."""


@request_of(hot_spot_least_squares)
class HotSpotRequest(Derived):
    """Either a path (distance_mm, stress_mpa), or reference_stress_mpa with one column a reference point."""

    rule: Literal["linear-fine", "linear-coarse", "quadratic", "fixed-fine", "fixed-coarse", "least-squares"]
    thickness_mm: Positive | None = Field(default=None, description="with the toe; needed unless fixed-")
    distance_mm: Column | None = None
    stress_mpa: Column | None = None
    reference_stress_mpa: list[Column] | None = Field(default=None, min_length=1, max_length=3)


class HotSpotAnswer(Strict):
    """Structural stress at the toe, one a station, with the points that it rests on."""

    # lists also of one station, for which the core has plain numbers

    hot_spot_stress_mpa: list[float]
    reference_distance_mm: list[float]
    reference_stress_mpa: list[list[float]]
    weights: list[float]


@request_of(linearise_path)
class LineariseRequest(Derived):
    """Either coefficients of a polynomial in depth over thickness, or points through the thickness."""

    coefficients_mpa: Annotated[list[Number], Field(min_length=1, max_length=50)] | None = None
    distance_mm: Column | None = Field(default=None, description="from the first surface, from 0 on")
    stress_mpa: Column | None = None


class LineariseAnswer(Strict):
    """Parts at the first surface, structural_far_mpa and peak_far_mpa at the far one."""

    # of one distribution, where the core takes many

    membrane_mpa: float
    bending_mpa: float
    structural_mpa: float
    structural_far_mpa: float
    peak_mpa: float
    peak_far_mpa: float
    thickness_mm: float | None


@request_of(combine_en)
class InteractionRequest(Derived):
    """Utilisations (range over resisting range, factors included) of normal and shear stress."""

    form: Literal["en-1993-1-9", "iiw-2016", "en-13001-3-1"]
    transverse_utilisation: Shares | None = Field(default=None, description="en-13001-3-1 only")
    proportional: bool | None = Field(default=None, description="iiw-2016 only: stresses go together")
    material: Metal = Field(default="steel", description="iiw-2016 only")
    normal_slope: Slope | None = Field(default=None, description="en-13001-3-1 only: slope of the curve")
    transverse_slope: Slope | None = Field(default=None, description="en-13001-3-1 only")
    shear_slope: Slope | None = Field(default=None, description="en-13001-3-1 only")


@answer_of(Interaction)
class InteractionAnswer(Strict):
    """Sum of the published form, at most 1 passes, and the factor on all ranges that it amounts to."""


@request_of(notch_constants)
class NotchRequest(Derived):
    """A sharp notch."""


@answer_of(NotchConstants)
class NotchAnswer(Strict):
    """Exponents, field constants and energy coefficients."""


@request_of(calibrate_element, omit=("eigenvalue",))
class ConstantRequest(Derived):
    """Peaks of one mode from models whose notch stress intensity is known, one a mesh."""

    mode: Mode
    opening_angle_deg: OpeningAngle
    intensity_mpa_mm_lambda: Number


@answer_of(Calibration)
class ConstantAnswer(Strict):
    """Mean constant, largest distance of a mesh from it, and the constant of each mesh."""
