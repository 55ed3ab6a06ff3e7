"""Which inputs of a scatter count where two name one quantity, and which a law does not use."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from fatcore.cracks.configurations.plates import SurfaceCrack
from fatcore.cracks.configurations.stress_field import Stress
from fatcore.cracks.driving.law import GrowthLaw
from fatcore.cracks.scatter.random_variables import Distribution
from fatcore.errors import InputError
from fatcore.figures import as_given
from fatcore.findings import Finding, caution, note

FirstSize = Literal["crack", "variables"]
_SIZES = ("depth_mm", "aspect_ratio")
_ON_INTENSITY = ("stress_factor", "concentration_factor", "intensity_factor")
_WIDE = 0.3  # beyond it more than 0.04 % of a normal variable are negative


def choose_first_size(
    crack: SurfaceCrack, variables: Mapping[str, Distribution], first_size: FirstSize | None
) -> tuple[dict[str, Distribution], list[Finding]]:
    """The variables that count, and what is said about the first size.

    Raises : InputError where crack and variables both give the first size and no choice is made, or a choice
             is made where there is none
    """
    both = [name for name in _SIZES if name in variables]
    if not both:
        if first_size == "variables":
            raise InputError("no variable gives a first size: name depth_mm or aspect_ratio", "first_size")
        return dict(variables), []
    if first_size is None:
        names = " and ".join(both)
        raise InputError(
            f"the crack and the variables both give {names}: say which counts, crack or variables",
            "first_size",
        )
    if first_size == "variables":
        return dict(variables), [_drawn(crack, variables, both)]
    left = {name: value for name, value in variables.items() if name not in both}
    message = f"{' and '.join(both)} of the variables were left out: every crack starts as the crack is given"
    return left, [caution("first-size-of-crack", message, field="first_size")]


def _drawn(crack: SurfaceCrack, variables: Mapping[str, Distribution], names: list[str]) -> Finding:
    given = {"depth_mm": crack.depth_mm, "aspect_ratio": crack.depth_mm / crack.half_length_mm}
    reported = ", ".join(f"{n} with {_middle(variables[n])}, not {as_given(given[n])}" for n in names)
    kept = [f"{name} {as_given(given[name])} of the crack" for name in _SIZES if name not in names]
    rest = f"; {kept[0]} stays" if kept else ""
    return note("first-size-drawn", f"the first size was drawn: {reported} of the crack{rest}", field="first_size")


def _middle(variable: Distribution) -> str:
    return f"{'median' if variable.kind == 'lognormal' else 'mean'} {as_given(variable.middle)}"


def spread_findings(variables: Mapping[str, Distribution], stress: Stress) -> list[Finding]:
    """Distributions that reach values which cannot be, and stress that no factor scatters."""
    found = []
    cut = [n for n, each in variables.items() if each.kind == "normal" and (each.variation or 0.0) > _WIDE]
    if cut:
        message = f"{', '.join(cut)}: a normal variable of that variation goes below 0 and was cut there"
        found.append(caution("normal-variable-cut", message, field="variation"))
    factors = [name for name in _ON_INTENSITY if name in variables]
    if factors and (stress.static_membrane_mpa or stress.static_bending_mpa):
        message = f"the lasting stress does not scatter: {', '.join(factors)} multiply the load alone"
        found.append(note("lasting-stress-fixed", message, field="static_membrane_mpa"))
    return found


def guard_tested(law: GrowthLaw, variables: Mapping[str, Distribution]) -> None:
    """InputError for a threshold that is drawn beside a fitted law, whose tests grew at ranges below it."""
    if law.tested is not None and "threshold_mpa_sqrt_mm" in variables:
        text = f"the law {law.name} is fitted: its tests say where cracks grow, no threshold is drawn beside it"
        raise InputError(text, "variables", "threshold_mpa_sqrt_mm")


def stage_findings(law: GrowthLaw, variables: Mapping[str, Distribution]) -> list[Finding]:
    """Scatter that the law has no place for, or that takes the place of a rule of the law."""
    found = []
    if "first_coefficient_factor" in variables and len(law.low) == 1 and len(law.high) <= 1:
        message = "the law has one stage: the factor on the first of two stages was not used"
        found.append(caution("first-stage-missing", message, field="first_coefficient_factor"))
    if "threshold_mpa_sqrt_mm" in variables and not law.threshold.is_zero:
        message = "the threshold was drawn at every load ratio; that of the law was not used"
        found.append(note("threshold-drawn", message, field="threshold_mpa_sqrt_mm"))
    return found
