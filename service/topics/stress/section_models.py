"""Request and answer models of the small solver."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from ...base.common import NonNegative, Number, Positive, Strict

Corner = Literal["right-upper", "left-upper", "left-lower", "right-lower"]
Location = Literal["root", "plate-toe", "attachment-toe"]
Acting = Annotated[float, Field(ge=-1e6, le=1e6)]


class SectionLoads(Strict):
    """Nominal stresses that act together: of the attachment in its section at the plate surface, where the
    shear has no moment; of the plate far from the weld. Tearing is shear along the weld."""

    plate_membrane_mpa: Acting = 0.0
    plate_bending_mpa: Acting = 0.0
    plate_tearing_mpa: Acting = 0.0
    attachment_membrane_mpa: Acting = 0.0
    attachment_bending_mpa: Acting = 0.0
    attachment_shear_mpa: Acting = 0.0
    attachment_tearing_mpa: Acting = 0.0


class SectionRequest(Strict):
    """A plate with an attachment on one side or both, joined by fillet welds of straight flanks."""

    attachments: Literal[1, 2] = Field(default=2, description="2: one on each side of the plate; 1: one side")
    plate_thickness_mm: Annotated[float, Field(ge=0.5, le=500.0)]
    attachment_thickness_mm: Positive = Field(description="a tenth to ten times the plate")
    plate_leg_mm: Positive = Field(description="a tenth to ten times the thinner part")
    attachment_leg_mm: Positive | None = Field(
        default=None, description="a third to three times plate_leg_mm; null: equal to it"
    )
    gap_mm: NonNegative = Field(
        description="unfused length in the middle; 0 is full penetration, attachment_thickness_mm is none"
    )
    loads: SectionLoads
    support_span_mm: Positive | None = Field(
        default=None, description="only for one attachment under membrane stress, which bends the plate"
    )
    youngs_modulus_mpa: Annotated[float, Field(ge=1e2, le=1e7)] = 206_000.0
    poisson_ratio: Annotated[float, Field(ge=0.0, le=0.49)] = 0.3
    control_radius_mm: Annotated[float, Field(ge=1e-3, le=100.0)] = Field(description="of the material")


class SectionUnitLoad(Strict):
    """Effect of 1 MPa of one load at the right upper corner; k2 is null where sliding is not singular."""

    load: str
    k1_mpa_mm_lambda: Number
    k2_mpa_mm_lambda: Number | None
    k3_mpa_mm_lambda: Number
    equivalent_stress_mpa: float


class SectionPoint(Strict):
    """One singular point at all corners; columns run over the corners. The biaxiality ratio is null where the
    opening mode is zero, the direct stress where the mesh cannot show the control sector."""

    location: Location
    opening_angle_deg: float
    corners: list[Corner]
    k1_mpa_mm_lambda: list[float]
    k2_mpa_mm_lambda: list[float] | None
    k3_mpa_mm_lambda: list[float]
    energy_density_mj_m3: list[float]
    equivalent_stress_mpa: list[float]
    direct_equivalent_stress_mpa: list[float] | None
    biaxiality_ratio: list[float | None]
    error_pct: float
    unit_loads: list[SectionUnitLoad]


class SectionAnswer(Strict):
    """Every singular point, and where the equivalent stress is largest."""

    governing_point: Location
    governing_corner: Corner
    equivalent_stress_mpa: float
    error_pct: float
    section_points: list[SectionPoint]
