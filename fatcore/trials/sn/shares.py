"""Which of the two 0.977 is: a share of the specimens, or the name of the line two deviations below the mean."""

from __future__ import annotations

from fatcore.curves.curve import Curve
from fatcore.curves.deviations import TWO_SIGMA, exact_deviations, names_two_deviations
from fatcore.curves.tested import ScatterKind
from fatcore.figures import against, as_given
from fatcore.findings import Finding, note

_ENOUGH = 0.97725  # share that reaches two deviations, rounded up


def share_findings(survival_probability: float, distribution: ScatterKind = "normal") -> list[Finding]:
    """That limits of tests are for the exact share, where documents name another line by it."""
    if distribution != "normal" or not names_two_deviations(survival_probability):
        return []
    text = (
        f"survival {as_given(survival_probability)} is taken as the exact share of the specimens,"
        f" {_away(survival_probability)} standard deviations below the mean; documents give that name to the line two"
        f" below: ask for {as_given(_ENOUGH)} where that one is meant"
    )
    return [note("survival-exact-share", text, field="survival_probability", source="normal-quantile")]


def curve_share_findings(curve: Curve) -> list[Finding]:
    """Whether the survival of a curve was read as the name of its line, or as the share that its tests hold."""
    survival = curve.survival_probability
    if survival is None or not names_two_deviations(survival):
        return []
    if curve.tested is None:
        text = (
            f"survival {as_given(survival)} of {curve.id} is read as the name of the line two standard deviations below"
            f" the mean; as an exact share it would be {_away(survival)}"
        )
        return [note("survival-two-deviations", text, field="survival_probability", source=curve.source)]
    exact = curve.tested.share_words(survival)
    if not exact:
        return []
    text = f"{curve.id}: survival {as_given(survival)}{exact}"
    return [note("survival-exact-share", text, field="survival_probability", source="normal-quantile")]


def _away(survival: float) -> str:
    return against(exact_deviations(survival), TWO_SIGMA)
