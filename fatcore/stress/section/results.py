"""Results of the cross-section solver."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from fatcore.bounds import UnboundedColumn
from fatcore.outcome import Outcome
from fatcore.require import FloatArray

Corner = Literal["right-upper", "left-upper", "left-lower", "right-lower"]
Location = Literal["root", "plate-toe", "attachment-toe"]


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitLoad:
    """Effect of 1 MPa of one load on a point of the right upper corner.

    load     : name of the load
    k1_mpa_mm_lambda, k2_mpa_mm_lambda, k3_mpa_mm_lambda : intensities [MPa*mm^(1-lambda)]; k2 is None
               where the sliding mode is not singular
    equivalent_stress_mpa : stress of equal averaged energy [MPa]
    """

    load: str
    k1_mpa_mm_lambda: float
    k2_mpa_mm_lambda: float | None
    k3_mpa_mm_lambda: float
    equivalent_stress_mpa: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SectionPoint:
    """One singular point in all corners of the joint under all loads together; arrays by corner.

    opening_angle_deg : angle between its faces [deg]
    k1_mpa_mm_lambda, k2_mpa_mm_lambda, k3_mpa_mm_lambda : intensities; k2 None where not singular
    energy_density_mj_m3, equivalent_stress_mpa : averaged energy from the intensities, and its stress
    direct_equivalent_stress_mpa : the same from all strain energy of the sector; None when not meshed
    biaxiality_ratio : energy of the shear modes over that of the opening mode; inf where the latter is 0
    error_pct   : equivalent stress of the change from the coarse to the fine mesh, over that of the fine,
                  at least 0.1 [%]
    unit_loads  : effect of each load alone
    """

    location: Location
    opening_angle_deg: float
    corners: tuple[Corner, ...]
    k1_mpa_mm_lambda: FloatArray
    k2_mpa_mm_lambda: FloatArray | None
    k3_mpa_mm_lambda: FloatArray
    energy_density_mj_m3: FloatArray
    equivalent_stress_mpa: FloatArray
    direct_equivalent_stress_mpa: FloatArray | None
    biaxiality_ratio: UnboundedColumn
    error_pct: float
    unit_loads: tuple[UnitLoad, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SectionStress(Outcome):
    """Answer of the cross-section solver: every point, and where the equivalent stress is largest.

    section_points : root (if there is one), plate toe, attachment toe
    governing_point, governing_corner : place of the largest equivalent stress
    equivalent_stress_mpa : that stress [MPa]; error_pct : mesh error of its point [%]
    """

    governing_point: Location
    governing_corner: Corner
    equivalent_stress_mpa: float
    error_pct: float
    section_points: tuple[SectionPoint, ...]
