"""Load sharing: a cracked member beside intact ones sheds load and moment as the crack makes it softer.

The crack adds a compliance to its member that follows from its own stress intensity by the energy release
rate, dC/dA = 2 K_i K_j / E' for unit force and unit moment: a 2 x 2 matrix of extension and rotation, so that
the turning of the ends is in the model. Joint: the point where the cracked member, its neighbours and the
drive meet.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal, NamedTuple

import numpy as np
from annotated_types import Ge, Lt, doc
from numpy.typing import ArrayLike

from fatcore.bounds import NonNegative, Number, Positive, guard
from fatcore.errors import InputError
from fatcore.figures import as_given, figure
from fatcore.findings import Finding, Limit, caution, note, outside_limits
from fatcore.plausible import modulus_doubts
from fatcore.require import FloatArray

Control = Literal["force", "displacement", "spring"]
Grips = Literal["rigid", "free", "flexible"]
GRIPS = "what holds the joint against turning; no default, since none is on the safe side"

LIMITS = (
    Limit("length_over_width", 2.0, None, "edge-clamped-closed-form", "the ligaments must act as beams"),
    Limit("relative_depth", None, 0.9, "edge-clamped-closed-form", "compliance of the last ligament"),
)
DEEP = 0.6
STIFF = 10.0  # end over member: stiffer ends hold a crack nearly as rigid ones do [own choice]
RIGID = np.inf


class Section(NamedTuple):
    """Rectangle of the cracked member: width in the direction of the crack, breadth along its front [mm]."""

    width_mm: float
    breadth_mm: float

    @property
    def area_mm2(self) -> float:
        """Area of the whole section."""
        return self.width_mm * self.breadth_mm

    @property
    def modulus(self) -> float:
        """Section modulus [mm^3]."""
        return self.breadth_mm * self.width_mm**2 / 6.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Member:
    """An intact path beside the cracked member.

    axial_stiffness_n_per_mm   : force per extension, > 0
    rotational_stiffness_nmm   : moment per end rotation [N*mm per rad], >= 0
    offset_mm                  : distance of its axis from that of the cracked member, positive on the side of
                                 the crack mouth
    """

    axial_stiffness_n_per_mm: Positive
    rotational_stiffness_nmm: NonNegative = 0.0
    offset_mm: Number = 0.0

    def __post_init__(self) -> None:
        guard(self)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sharing:
    """What surrounds a cracked member.

    length_mm           : free length of the cracked member between its ends
    youngs_modulus_mpa, poisson_ratio, plane : elastic constants; plane stress or strain of the crack front
                          (strain, the default, makes the crack less compliant, so that it sheds less)
    members             : intact paths that take the same end movement
    series_axial_stiffness_n_per_mm, series_rotational_stiffness_nmm : in line with the cracked member;
                                                                       None is rigid
    grips               : what holds the joint against turning: rigid, free, or flexible with
                          grip_stiffness_nmm; no default, since none is on the safe side
    control             : what drives the joint: force, displacement, or displacement through a spring
                          of drive_stiffness_n_per_mm (between the two)
    """

    length_mm: Positive
    grips: Annotated[Grips, doc(GRIPS)]
    youngs_modulus_mpa: Positive = 206000.0
    poisson_ratio: Annotated[float, Ge(0.0), Lt(0.5)] = 0.3
    plane: Literal["stress", "strain"] = "strain"
    members: tuple[Member, ...] = ()
    series_axial_stiffness_n_per_mm: Positive | None = None
    series_rotational_stiffness_nmm: Positive | None = None
    grip_stiffness_nmm: Positive | None = None
    control: Control = "force"
    drive_stiffness_n_per_mm: Positive | None = None

    def __post_init__(self) -> None:
        guard(self)
        _pair("grips", self.grips, "flexible", "grip_stiffness_nmm", self.grip_stiffness_nmm)
        _pair("control", self.control, "spring", "drive_stiffness_n_per_mm", self.drive_stiffness_n_per_mm)


class Shared(NamedTuple):
    """State of the cracked member for each added compliance.

    membrane_mpa    : membrane stress; bending_mpa : bending stress (end moment over section modulus), both
                      per
                      unit of load factor, in the uncracked section
    end_moment_nmm  : moment at the ends of the cracked member per unit of load factor
    stiffness_ratio : stiffness of the whole joint over its value without crack
    potential_nmm   : potential energy of the system per unit of load factor squared
    """

    membrane_mpa: FloatArray
    bending_mpa: FloatArray
    end_moment_nmm: FloatArray
    stiffness_ratio: FloatArray
    potential_nmm: FloatArray


class _Matrix(NamedTuple):
    """Symmetric 2 x 2 matrices (extension, coupling, rotation)."""

    uu: FloatArray
    ut: FloatArray
    tt: FloatArray

    def inverse(self) -> _Matrix:
        det = self.uu * self.tt - self.ut * self.ut
        return _Matrix(self.tt / det, -self.ut / det, self.uu / det)

    def times(self, u: FloatArray, t: FloatArray) -> tuple[FloatArray, FloatArray]:
        return self.uu * u + self.ut * t, self.ut * u + self.tt * t


def strain_modulus_mpa(sharing: Sharing) -> float:
    """Modulus E' of the crack front: Young's modulus, in plane strain over 1 - nu^2."""
    plane_strain = sharing.plane == "strain"
    return sharing.youngs_modulus_mpa / (1.0 - sharing.poisson_ratio**2 if plane_strain else 1.0)


def share_load(sharing: Sharing, section: Section, added: ArrayLike, membrane_mpa: float, bending_mpa: float) -> Shared:
    """Stresses in the cracked member after load and moment have been redistributed.

    added        : 3 x n, integrals over the crack area of y_t^2, y_t y_b, y_b^2 [mm^3], where y is the stress
                   intensity per MPa of membrane or bending stress
    membrane_mpa, bending_mpa : stresses in the uncracked member, all neighbours in place
    Returns      : see Shared; arrays of length n
    Source       : [irwin-kies-1954], [shared-load-derivation]
    """
    crack = _crack_compliance(sharing, section, np.asarray(added, dtype=np.float64))
    branch0 = _branch_compliance(sharing, section, _Matrix(*np.zeros((3, 1))))
    branch = _branch_compliance(sharing, section, crack)
    around = _surrounding(sharing)
    force, moment = membrane_mpa * section.area_mm2, bending_mpa * section.modulus
    start = branch0.times(np.array(force), np.array(moment))
    stiff0, stiff = branch0.inverse(), branch.inverse()
    whole0, whole = _sum(stiff0, around), _sum(stiff, around)
    load = whole0.times(*start)
    u, t = _movement(sharing, whole, start, load)
    carried, end_moment = stiff.times(u, t)
    ratio = _joint_stiffness(sharing, whole) / _joint_stiffness(sharing, whole0)
    inner = whole.times(u, t)
    stored = 0.5 * (u * inner[0] + t * inner[1])
    work = (0.0 if sharing.control == "displacement" else load[0] * u) + (
        0.0 if sharing.grips == "rigid" else load[1] * t
    )
    return Shared(carried / section.area_mm2, end_moment / section.modulus, end_moment, ratio, stored - work)


def end_stiffness_ratio(sharing: Sharing, section: Section) -> float:
    """Stiffness of the ends against turning, or of a softer spring in line, over that of the member."""
    beside = RIGID if sharing.grips == "rigid" else float(_surrounding(sharing).tt)
    ends = min(beside, sharing.series_rotational_stiffness_nmm or RIGID)
    return ends if np.isinf(ends) else ends * _rotation(sharing, section)


def sharing_findings(sharing: Sharing, section: Section, relative_depth: ArrayLike) -> tuple[Finding, ...]:
    """Where the compliance model is left or doubtful over the relative depths of a growth history."""
    depth = np.asarray(relative_depth, dtype=np.float64)
    found = list(outside_limits(LIMITS, length_over_width=sharing.length_mm / section.width_mm, relative_depth=depth))
    held = end_stiffness_ratio(sharing, section)
    if held > STIFF and (depth > DEEP).any():
        ends = "ends that cannot turn" if np.isinf(held) else f"ends {figure(held)} times as stiff as the member"
        message = (
            f"{ends} were assumed; where real ends give way, a crack beyond {as_given(DEEP)} of the wall is driven"
            " harder than computed"
        )
        key = "shared-load-derivation"
        found.append(caution("rigid-grips-deep-crack", message, field="grips", source=key))
    if sharing.grips == "free" and not sharing.members and sharing.control == "force":
        found.append(
            note(
                "nothing-shares",
                "no member, grip or drive takes load from the crack: constant load",
                field="members",
            )
        )
    return (*found, *modulus_doubts(sharing.youngs_modulus_mpa, "youngs_modulus_mpa"), _taken_as(sharing))


def _taken_as(sharing: Sharing) -> Finding:
    """The stiffness that may have been left to a default."""
    springs = {
        "axial": sharing.series_axial_stiffness_n_per_mm,
        "rotational": sharing.series_rotational_stiffness_nmm,
    }
    rigid = " and ".join(name for name, value in springs.items() if value is None)
    message = f"sharing with a Young's modulus of {as_given(sharing.youngs_modulus_mpa)} MPa"
    if rigid:
        message += (
            f"; in line with the cracked member nothing gives way ({rigid}): where something does, the crack"
            " sheds less load and lives shorter"
        )
    return note("sharing-stiffness", message, field="sharing")


def _pair(name: str, value: str, needs: str, other: str, given: float | None) -> None:
    if value == needs and given is None:
        raise InputError(f"{name} {needs!r} needs {other}", other)
    if given is not None and value != needs:
        raise InputError(f"{other} has a meaning only with {name} {needs!r}", other)


def _crack_compliance(sharing: Sharing, section: Section, added: FloatArray) -> _Matrix:
    factor = 2.0 / strain_modulus_mpa(sharing)
    area, modulus = section.area_mm2, section.modulus
    return _Matrix(factor * added[0] / area**2, factor * added[1] / (area * modulus), factor * added[2] / modulus**2)


def _branch_compliance(sharing: Sharing, section: Section, crack: _Matrix) -> _Matrix:
    """Cracked member with what is in line with it."""
    extension = sharing.length_mm / (sharing.youngs_modulus_mpa * section.area_mm2)
    rotation = _rotation(sharing, section)
    return _Matrix(
        crack.uu + extension + 1.0 / (sharing.series_axial_stiffness_n_per_mm or RIGID),
        crack.ut,
        crack.tt + rotation + 1.0 / (sharing.series_rotational_stiffness_nmm or RIGID),
    )


def _rotation(sharing: Sharing, section: Section) -> float:
    """Turning of the uncracked member per end moment [rad per N*mm]."""
    inertia = section.modulus * section.width_mm / 2.0
    return sharing.length_mm / (sharing.youngs_modulus_mpa * inertia)


def _surrounding(sharing: Sharing) -> _Matrix:
    """Stiffness beside the cracked branch: members, grip, drive."""
    uu, ut, tt = sharing.drive_stiffness_n_per_mm or 0.0, 0.0, sharing.grip_stiffness_nmm or 0.0
    for member in sharing.members:
        axial, offset = member.axial_stiffness_n_per_mm, member.offset_mm
        uu, ut = uu + axial, ut + axial * offset
        tt += member.rotational_stiffness_nmm + axial * offset * offset
    return _Matrix(np.array(uu), np.array(ut), np.array(tt))


def _sum(first: _Matrix, second: _Matrix) -> _Matrix:
    return _Matrix(first.uu + second.uu, first.ut + second.ut, first.tt + second.tt)


def _movement(
    sharing: Sharing,
    whole: _Matrix,
    start: tuple[FloatArray, FloatArray],
    load: tuple[FloatArray, FloatArray],
) -> tuple[FloatArray, FloatArray]:
    """Extension and rotation of the joint: what is held keeps its start value, the rest follows the load."""
    held_u, held_t = sharing.control == "displacement", sharing.grips == "rigid"
    like = np.zeros(np.shape(whole.uu))
    if held_u and held_t:
        return start[0] + like, start[1] + like
    if held_u:
        return start[0] + like, (load[1] - whole.ut * start[0]) / whole.tt
    if held_t:
        return (load[0] - whole.ut * start[1]) / whole.uu, start[1] + like
    return whole.inverse().times(load[0], load[1])


def _joint_stiffness(sharing: Sharing, whole: _Matrix) -> FloatArray:
    """Force per extension of the joint, without the spring that drives it."""
    axial = whole.uu - (sharing.drive_stiffness_n_per_mm or 0.0)
    return np.asarray(axial if sharing.grips == "rigid" else axial - whole.ut * whole.ut / whole.tt)
