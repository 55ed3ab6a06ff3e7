"""Settings of the core out of a check request: what the whole check, or a line by itself, is judged by."""

from __future__ import annotations

from fatcore.check.line import Material
from fatcore.check.several import LineSettings
from fatcore.check.strength.resistance import Resistance, Target
from fatcore.curves.corrections.correction import Correction
from fatcore.curves.curve import Curve
from fatcore.curves.limits.damage_limits import Amplitude
from fatcore.errors import at

from ...base.derive import call
from ...base.rules.active import active_policy
from ..curves.models import curve_from
from ..curves.resistance import corrections_from, moved_to
from .judging import BiaxialityCurves, CheckMaterial, CurvesChoice, FixedCurves
from .lines import LineInput
from .models import CheckRequest, HistoryLoadingInput

OWN = ("curves", "condition", "material")  # that a line may have for itself


def own_settings(line: LineInput) -> tuple[str, ...]:
    """Names of what a line is judged by for itself."""
    return tuple(name for name in OWN if getattr(line, name) is not None)


def settings_of(request: CheckRequest) -> list[LineSettings]:
    """Settings of every line; lines of equal ones share one object. InputError with the path of what is refused."""
    made: dict[tuple[str | None, ...], LineSettings] = {}
    found = []
    for place, line in enumerate(request.lines):
        given = [getattr(line, name) for name in OWN]
        key = tuple(each if each is None or isinstance(each, str) else each.model_dump_json() for each in given)
        # where the line has a material, its basis tells whether the control radius of it is needed
        key = (*key, line.basis if line.material is not None else None)
        if key not in made:
            made[key] = _settings(request, place, line)
            _guard_by_policy(made[key], target_of(request))
        found.append(made[key])
    return found


def _settings(request: CheckRequest, place: int, line: LineInput) -> LineSettings:
    here = ("lines", place)
    curves_path = ("curves",) if line.curves is None else (*here, "curves")
    with at(*curves_path):
        resistance = _resistance(line.curves or request.curves, _amplitude(request))
    with at(*(() if line.material is None else here), "material"):
        material = line_material(line) or material_of(request)
    return LineSettings(
        resistance=resistance,
        material=material,
        condition=line.condition or request.condition,
        curves_path=curves_path,
    )


def _guard_by_policy(settings: LineSettings, target: Target) -> None:
    """PolicyError where survival, partial factor or damage sum are looser than the policy allows."""
    policy = active_policy()
    if policy is None:
        return
    resistance = settings.resistance
    given = zip(resistance.curves(), (resistance.corrections, resistance.shear_corrections), strict=False)
    for curve, corrections in given:
        policy.guard_survival(target.survival_probability, curve, "target", "survival_probability")
        policy.guard_partial_factor(
            corrections,
            "target",
            "resistance_factor",
            resistance_factor=target.resistance_factor,
            load_factor=target.load_factor,
        )
    with at("target"):
        limit = target.limit(resistance).damage_limit
    policy.guard_largest("damage_limit", limit, "a damage sum up to", "target", "damage_limit")


def _amplitude(request: CheckRequest) -> Amplitude:
    return "constant" if request.loading.kind == "constant" else "variable"


def _resistance(curves: BiaxialityCurves | FixedCurves, amplitude: Amplitude) -> Resistance:
    """The curves as their source gives them."""
    curve, corrections = _curve(curves, "opening_curve" if curves.rule == "biaxiality" else "curve", amplitude)
    shear, shear_corrections = _curve(curves, "shear_curve", amplitude) if curves.shear_curve else (None, ())
    return call(
        Resistance,
        curves,
        curve=curve,
        shear_curve=shear,
        corrections=corrections,
        shear_corrections=shear_corrections,
        amplitude=amplitude,
    )


def _curve(curves: CurvesChoice, name: str, amplitude: Amplitude) -> tuple[Curve, tuple[Correction, ...]]:
    with at(name):
        plain = curve_from(getattr(curves, name), loading=amplitude)
    there = moved_to(plain, curves.environment)
    return there, tuple(corrections_from(curves.corrections, there, bonus=False))


def needs_radius(request: CheckRequest) -> bool:
    """Whether the control radius of the material of the check takes part in any line."""
    return any(line.basis == "peak-stress" and line.material is None for line in request.lines)


def material_of(request: CheckRequest) -> Material:
    """The material of the check; where a line needs its control radius, the published one stands for none."""
    return _material(request.material, needs_radius(request))


def line_material(line: LineInput) -> Material | None:
    """The material that a line has for itself, with the control radius where its basis needs it."""
    return None if line.material is None else _material(line.material, line.basis == "peak-stress")


def _material(given: CheckMaterial, radius: bool) -> Material:
    material: Material = given.to_core()
    return material.with_radius() if radius else material


def target_of(request: CheckRequest) -> Target:
    """What is to be reached; repeats of a history multiply those of the target."""
    passes = request.loading.repeats if isinstance(request.loading, HistoryLoadingInput) else 1.0
    return call(Target, request.target, repeats=request.target.repeats * passes)
