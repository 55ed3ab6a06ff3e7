"""Stress components that a load case does not give: they count zero, which a finding reports."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from fatcore.findings import Finding, caution, note
from fatcore.stress.notch.fields import sliding_limit_angle_deg


def absent_findings(
    given: Mapping[str, Collection[str]], opening_angle_deg: float | None = None
) -> tuple[Finding, ...]:
    """Findings on components that load cases leave out.

    given             : components of each load case by its name: modes, or normal_mpa and shear_mpa
    opening_angle_deg : of a notch on the peak-stress basis, where each singular mode counts; None elsewhere
    Returns           : a caution for what other cases give, and for every mode where sliding is singular, as
                        at a root; a note for the tearing mode of a toe that no case gives
    """
    known = {component for components in given.values() for component in components}
    wanted = dict.fromkeys(["normal_mpa", *sorted(known)] if opening_angle_deg is None else _modes(opening_angle_deg))
    root = opening_angle_deg is not None and opening_angle_deg < sliding_limit_angle_deg()
    found = []
    for component in dict.fromkeys([*wanted, *sorted(known)]):
        cases = sorted(case for case, components in given.items() if component not in components)
        if cases:
            text = f"{component} is not given and counts zero in the load case {', '.join(cases)}"
            if root or component in known:
                found.append(caution("mode-absent", text, field="cases"))
            else:
                found.append(note("mode-in-no-case", text, field="cases"))
    return tuple(found)


def _modes(opening_angle_deg: float) -> tuple[str, ...]:
    if opening_angle_deg < sliding_limit_angle_deg():
        return ("opening", "sliding", "tearing")
    return ("opening", "tearing")
