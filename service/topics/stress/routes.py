"""Routes of the topic stress: peak stresses, averaged energy, structural stress, interaction."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from fatcore.check.findings.absent_components import absent_findings
from fatcore.curves.biaxiality import default_bounds, near_bound_findings
from fatcore.errors import InputError, at
from fatcore.outcome import Outcome, evidence
from fatcore.require import FloatArray, one_length, other_length
from fatcore.stress import interaction as combination
from fatcore.stress.modes import MODES
from fatcore.stress.notch.fields import eigenvalues
from fatcore.stress.peak.calibration import calibrate_element
from fatcore.stress.peak.line_evaluation import evaluate_line, peaks_as_given, peaks_from_tensors
from fatcore.stress.peak.mesh_pattern import pattern_findings
from fatcore.stress.peak.peak_weights import PeakWeights, kind_findings, peak_weights
from fatcore.stress.structural import hot_spot as read_out
from fatcore.stress.structural import linearise as through_thickness
from fatcore.stress.weld_lines.scale import scale_findings
from fatcore.stress.weld_lines.stations import guard_gaps, guard_stations, mesh_size_findings, station_steps

from ...base.common import Reply, get, post, reply
from ...base.derive import call
from ...base.unused import refuse_unused
from . import models
from .columns import map_error_path, none_of, one_of, required, stack_columns
from .energy import average_energy, basis_of_radius

_COMBINED = "Combined normal and shear stress"


@post("stress/peak", models.PeakRequest, models.PeakAnswer, revision=3, summary="Equivalent peak stress")
def peak(request: models.PeakRequest) -> Reply:
    """Peak stresses of a weld line, or nodal tensors with the line's directions, to the equivalent peak
    stress and the local biaxiality ratio of every station. Ranges count; signs are kept in the peaks."""
    weights, radius = _weights(request)
    peaks, frame = _peaks(request)
    stations = _stations(request, len(peaks))
    line = evaluate_line(weights, peaks, condition=request.condition, load_ratios=_load_ratios(request.load_ratio))
    ratio = np.where(line.opening_is_zero, np.inf, line.biaxiality_ratio)
    near = near_bound_findings(ratio, weights.ratio_band, *default_bounds())
    basis = Outcome(**evidence(line, radius, frame, stations, findings=near))
    return reply(
        models.PeakAnswer,
        basis,
        weights=_by_mode(weights.opening, weights.sliding, weights.tearing),
        constants=weights.constants,
        eigenvalues=weights.eigenvalues,
        energy_coefficients=weights.energy_coefficients,
        mean_stress_coefficients=_by_mode(*line.mean_stress_coefficients.tolist()),
        peaks_mpa=None if request.tensors_mpa is None else dict(zip(MODES, peaks.T, strict=True)),
        equivalent_stress_mpa=line.equivalent_stress_mpa,
        biaxiality_ratio=ratio,
        governing_index=line.governing_index,
    )


@post("stress/energy", models.EnergyRequest, models.EnergyAnswer, revision=2, summary="Averaged energy")
def energy(request: models.EnergyRequest) -> Reply:
    """Strain energy density averaged over the control radius, from notch stress intensities, the energy of a
    sector, the density itself or an equivalent stress, and the equivalent stress of plane strain."""
    outcome, radius = average_energy(request)
    return reply(models.EnergyAnswer, replace(outcome, **evidence(outcome, radius)))


@post("stress/hot-spot", models.HotSpotRequest, models.HotSpotAnswer, revision=2, summary="Structural stress")
def hot_spot(request: models.HotSpotRequest) -> Reply:
    """Structural stress at a weld toe, extrapolated from a surface path or from the stresses at the reference
    points of a published rule, with exact weights."""
    outcome = _hot_spot(request)
    return reply(
        models.HotSpotAnswer,
        outcome,
        hot_spot_stress_mpa=np.atleast_1d(outcome.hot_spot_stress_mpa),
        reference_stress_mpa=np.atleast_2d(outcome.reference_stress_mpa),
    )


@post("stress/linearise", models.LineariseRequest, models.LineariseAnswer, revision=1, summary="Linearisation")
def linearise(request: models.LineariseRequest) -> Reply:
    """Membrane, bending and peak part of a stress distribution through the thickness."""
    if request.coefficients_mpa is not None:
        none_of(request, "coefficients_mpa excludes it", "distance_mm", "stress_mpa")
        refuse_unused(request, "integration", because="a polynomial is integrated exactly")
        return reply(models.LineariseAnswer, through_thickness.linearise_polynomial(request.coefficients_mpa))
    path = {name: required(request, name) for name in ("distance_mm", "stress_mpa")}
    return reply(models.LineariseAnswer, call(through_thickness.linearise_path, request, **path))


@post("stress/interaction", models.InteractionRequest, models.InteractionAnswer, revision=1, summary=_COMBINED)
def interaction(request: models.InteractionRequest) -> Reply:
    """Normal and shear utilisations combined by a published form."""
    one_length(normal_utilisation=request.normal_utilisation, shear_utilisation=request.shear_utilisation)
    if request.form != "iiw-2016":
        none_of(request, f"{request.form} does not take it", "proportional")
        refuse_unused(request, "material", because=f"{request.form} has one limit for all materials")
    if request.form == "en-13001-3-1":
        return reply(models.InteractionAnswer, _crane(request))
    crane_only = ("transverse_utilisation", "normal_slope", "transverse_slope", "shear_slope")
    none_of(request, f"{request.form} does not take it", *crane_only)
    if request.form == "en-1993-1-9":
        return reply(models.InteractionAnswer, call(combination.combine_en, request))
    if request.proportional is None:
        raise InputError("needed here: other loading has half the limit for steel", "proportional")
    return reply(models.InteractionAnswer, call(combination.combine_iiw, request))


@get("stress/notch-constants", models.NotchRequest, models.NotchAnswer, revision=1, summary="Notch constants")
def notch(request: models.NotchRequest) -> Reply:
    """Exponents, field constants and energy coefficients of a sharp notch in plane strain."""
    return reply(models.NotchAnswer, request.to_core())


@post(
    "stress/element-constant",
    models.ConstantRequest,
    models.ConstantAnswer,
    revision=1,
    summary="Own element constant",
)
def element_constant(request: models.ConstantRequest) -> Reply:
    """Element constant of one mode from models whose notch stress intensity is known, with its scatter over
    the meshes; use it as an own constant in other requests."""
    exponent = getattr(eigenvalues(request.opening_angle_deg), request.mode)
    if exponent >= 1.0:
        raise InputError(f"the {request.mode} mode is not singular at this angle", "opening_angle_deg")
    return reply(models.ConstantAnswer, call(calibrate_element, request, eigenvalue=exponent))


def _weights(request: models.PeakRequest) -> tuple[PeakWeights, Outcome]:
    """Weights of the line, and the findings on the control radius."""
    material, mesh = request.material, request.mesh
    nu = material.poisson_ratio
    with at("material"):
        notch = request.notch
        radius, basis = basis_of_radius(
            material.name, material.control_radius_mm, nu, notch.opening_angle_deg, notch.notch_size_mm
        )
    with map_error_path(constants="mesh", poisson_ratio="material"):
        weights = peak_weights(
            opening_angle_deg=request.notch.opening_angle_deg,
            element=mesh.element,
            element_size_mm=mesh.element_size_mm,
            notch_size_mm=request.notch.notch_size_mm,
            poisson_ratio=nu,
            control_radius_mm=radius,
            constants=None if mesh.constants is None else mesh.constants.model_dump(),
            coefficients=request.coefficients,
        )
    return weights, basis


def _peaks(request: models.PeakRequest) -> tuple[FloatArray, Outcome]:
    """Peaks (n, 3), given or from tensors, and the findings on the frame."""
    if one_of(request, "peaks_mpa", "tensors_mpa") == "peaks_mpa":
        none_of(request, "only with tensors_mpa", "tangent", "bisector")
        if request.symmetric_ends:
            raise InputError("only with tensors_mpa", "symmetric_ends")
        peaks = stack_columns("peaks_mpa", required(request, "peaks_mpa").model_dump())
        given = {"given": {mode for mode in MODES if getattr(request.peaks_mpa, mode) is not None}}
        absent = absent_findings(given, request.notch.opening_angle_deg)
        return peaks, Outcome(findings=(*peaks_as_given(request.average_over), *absent))
    tensors = stack_columns("tensors_mpa", required(request, "tensors_mpa").model_dump())
    peaks, findings = peaks_from_tensors(
        tensors,
        required(request, "tangent"),
        required(request, "bisector"),
        closed=request.closed,
        average_over=request.average_over,
        element=request.mesh.element,
        symmetric_ends=request.symmetric_ends,
    )
    return peaks, Outcome(findings=findings)


def _stations(request: models.PeakRequest, count: int) -> Outcome:
    """Findings on mesh size and directions by positions and coordinates of the nodes."""
    position, coordinates = request.position_mm, request.coordinates_mm
    for name, column in (("position_mm", position), ("coordinates_mm", coordinates)):
        if column is not None and len(column) != count:
            raise InputError(other_length(name, len(column), count), name)
    guard_stations(position_mm=position, coordinates_mm=coordinates, tangent=request.tangent, closed=request.closed)
    steps = station_steps(position, coordinates)
    if steps is not None and request.average_over == 3:
        guard_gaps(steps)
    return Outcome(
        findings=(
            *kind_findings(request.notch.kind, request.notch.opening_angle_deg),
            *pattern_findings(request.mesh.element, request.notch.opening_angle_deg, request.mesh.elements_around),
            *scale_findings(request.mesh.element_size_mm, request.notch.notch_size_mm, steps),
            *mesh_size_findings(request.mesh.element_size_mm, steps, request.mesh.element),
        )
    )


def _load_ratios(given: float | models.LoadRatios | None) -> dict[str, float] | None:
    if given is None:
        return None
    if isinstance(given, models.LoadRatios):
        return {mode: ratio for mode, ratio in given.model_dump().items() if ratio is not None}
    return dict.fromkeys(MODES, given)


def _hot_spot(request: models.HotSpotRequest) -> read_out.HotSpot:
    thickness, rule = request.thickness_mm, request.rule
    if rule != "least-squares":
        refuse_unused(request, "degree", "window_low", "window_high", because=f"{rule} has fixed points")
    if rule.startswith("fixed-"):
        refuse_unused(request, "thickness_mm", because=f"{rule} has its points at fixed distances")
    if request.reference_stress_mpa is not None and rule != "least-squares":
        none_of(request, "reference_stress_mpa excludes it", "distance_mm", "stress_mpa")
        columns = {str(index): column for index, column in enumerate(request.reference_stress_mpa)}
        return read_out.hot_spot_from_references(stack_columns("reference_stress_mpa", columns), rule, thickness)
    none_of(request, f"{rule} takes a path", "reference_stress_mpa")
    path = {name: required(request, name) for name in ("distance_mm", "stress_mpa")}
    if rule != "least-squares":
        return call(read_out.hot_spot_from_path, request, **path)
    return call(read_out.hot_spot_least_squares, request, **path, thickness_mm=required(request, "thickness_mm"))


def _crane(request: models.InteractionRequest) -> combination.Interaction:
    across = request.transverse_utilisation
    if across is None:
        none_of(request, "transverse_utilisation is missing", "transverse_slope")
    else:
        one_length(normal_utilisation=request.normal_utilisation, transverse_utilisation=across)
    slopes = {name: required(request, name) for name in ("normal_slope", "shear_slope")}
    transverse = 0.0 if across is None else across
    return call(combination.combine_crane, request, transverse_utilisation=transverse, **slopes)


def _by_mode(opening: float, sliding: float | None, tearing: float) -> dict[str, float | None]:
    return {"opening": opening, "sliding": sliding, "tearing": tearing}
