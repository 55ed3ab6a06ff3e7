"""How normal and shear stress are combined: by the form of the curves' document and the loading at hand."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import numpy as np

from fatcore.check.line import WeldLine, case_matrix
from fatcore.check.loading import HistoryLoading, Loading
from fatcore.curves.curve import Curve
from fatcore.curves.standards.catalogue import describe_curve
from fatcore.errors import InputError
from fatcore.findings import Finding, caution, outside
from fatcore.require import FloatArray
from fatcore.spectrum.multiaxial.superposition import PROPORTIONAL_LIMIT

Interaction = Literal["damage-sum", "quadratic-proportional", "quadratic-non-proportional"]

FORMS: dict[str, tuple[Interaction, ...]] = {
    "en-1993-1-9": ("damage-sum",),
    "iiw-2016": ("quadratic-proportional", "quadratic-non-proportional"),
}


def guard_interaction(curves: Sequence[Curve], interaction: Interaction | None) -> None:
    """InputError when no form is named and the documents of the curves prescribe none, or several."""
    if interaction is None and len(_find_prescribed_form(curves)) != 1:
        why = "prescribe different forms" if _find_prescribed_form(curves) else "prescribe no form"
        raise InputError(f"name the interaction: the documents of these curves {why}", "interaction")


def interaction_of(
    line: WeldLine, loading: Loading | None, curves: Sequence[Curve], interaction: Interaction | None
) -> tuple[Interaction, tuple[Finding, ...]]:
    """The form for a line, and what is doubtful about one that the request names.

    interaction : None takes the form that the document of the curves prescribes; where it tells proportional
                  loading apart, the loading decides
    Source      : [interaction-en-1993-1-9], [interaction-iiw-2016], [toeline-proportionality]
    """
    guard_interaction(curves, interaction)
    apart = loading is None or out_of_step(line, loading) > PROPORTIONAL_LIMIT
    forms = _find_prescribed_form(curves)
    if interaction is None:
        allowed = FORMS[forms[0]]
        return (allowed[-1] if apart else allowed[0]), ()
    return interaction, (*_of_another(interaction, forms), *_of_loading(interaction, apart))


def out_of_step(line: WeldLine, loading: Loading) -> float:
    """How far normal and shear stress leave one common ratio, at the worst station [-].

    Second over first singular value of both stresses over all load states: 0 when their ratio stands still,
    and with it the principal directions.
    """
    unit, states = case_matrix(line, loading.names()), _load_states(loading)
    both = unit @ (states @ states.T) @ np.swapaxes(unit, -1, -2)
    small, large = np.moveaxis(np.linalg.eigvalsh(both), -1, 0)
    share = np.divide(small, large, out=np.zeros_like(large), where=large > 0.0)
    return float(np.sqrt(np.clip(share, 0.0, None)).max())


def _load_states(loading: Loading) -> FloatArray:
    """Factors of the load cases (cases, states): the samples of a history, both ends of every block."""
    if isinstance(loading, HistoryLoading):
        return np.stack([np.asarray(values, dtype=np.float64) for values in loading.channels.values()])
    rows = []
    for name in loading.names():
        given = [block.factors.get(name) for block in loading.blocks]
        rows.append([value for state in given for value in ((state.maximum, state.minimum) if state else (0.0, 0.0))])
    return np.array(rows)


def _find_prescribed_form(curves: Sequence[Curve]) -> tuple[str, ...]:
    """Forms that the documents of the curves prescribe, each once."""
    named = (describe_curve(curve.id).interaction_form for curve in curves if curve.table is not None)
    return tuple(dict.fromkeys(form for form in named if form is not None))


def _of_another(interaction: Interaction, forms: Sequence[str]) -> tuple[Finding, ...]:
    if not forms:
        text = f"no document of these curves prescribes how stresses combine: {interaction} was named"
        return (caution("interaction-not-prescribed", text, field="interaction"),)
    if all(interaction in FORMS[form] for form in forms):
        return ()
    text = f"{interaction} is not the form of the curves' document ({' and '.join(forms)})"
    return (outside("interaction-of-other-document", text, field="interaction"),)


def _of_loading(interaction: Interaction, apart: bool) -> tuple[Finding, ...]:
    if interaction != "quadratic-proportional" or not apart:
        return ()
    text = "normal and shear stress do not rise and fall together here, as the proportional form asks"
    return (outside("loading-not-proportional", text, field="interaction", source="interaction-iiw-2016"),)
