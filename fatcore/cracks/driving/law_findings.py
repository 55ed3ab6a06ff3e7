"""What an answer says about its growth law: size of own constants, load ratios of the constants."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

from fatcore.cracks.driving.law import GrowthLaw
from fatcore.cracks.driving.law_sets import law_names, named_law, named_threshold, threshold_names
from fatcore.cracks.driving.ranges import AS_WELDED_LOAD_RATIO, Condition
from fatcore.figures import as_given, figure
from fatcore.findings import Finding, Limit, caution, note, outside_limits
from fatcore.plausible import toughness_doubts
from fatcore.require import FloatArray

COMPARED_AT = 500.0  # MPa√mm, where all published laws speak [own choice]
MARGIN = 3.0  # between published laws and what is still plausible [own choice]
EXPONENTS = (1.0, 10.0)
_ROUNDING = 1e-9


def law_findings(law: GrowthLaw, condition: Condition, load_ratio: FloatArray) -> Iterator[Finding]:
    """Findings of a law as it is given; load_ratio : as counted over the life."""
    limit = Limit("load_ratio", None, law.highest_load_ratio, (*law.sources, "")[0], f"constants of {law.name}")
    yield from outside_limits((limit,), load_ratio=load_ratio)
    if law.tested is not None:
        yield from law.tested.findings(load_ratio, threshold=not law.threshold.is_zero)
    if not law.is_own:
        return
    yield from size_doubts(law)
    yield from _exponents(law)
    yield from _stages(law)
    yield from _threshold(law)
    yield from toughness_doubts(law.effect.toughness_mpa_sqrt_mm)
    speaks = not law.high and law.effect.kind in ("none", "elber", "schijve", "newman")
    if condition == "as-welded" and speaks:
        message = "own constants were taken as given at the high load ratio of as-welded: they must hold there"
        yield caution("own-constants-as-welded", message, field="condition")
    highest = float(load_ratio.max())
    if condition == "stress-relieved" and speaks and highest >= AS_WELDED_LOAD_RATIO - _ROUNDING:
        message = f"own constants were taken as given at load ratios of up to {figure(highest)}: they must hold there"
        yield caution("own-constants-high-load-ratio", message, field="loading")


@cache
def _published_limits(material: str) -> tuple[float, float]:
    """Smallest and largest rate of the published laws at the range of comparison, over the load ratios."""
    laws = [named_law(name) for name in law_names() if name.endswith("aluminium") == (material == "aluminium")]
    rates = [float(law.rate_mm_per_cycle(COMPARED_AT, ratio)) for law in laws for ratio in (0.0, 0.6)]
    return min(rates), max(rates)


def size_doubts(law: GrowthLaw) -> Iterator[Finding]:
    """The rate of own constants beside those of published laws: a wrong unit system shows."""
    rate = float(law.rate_mm_per_cycle(COMPARED_AT, 0.0))
    steel, aluminium = _published_limits("steel"), _published_limits("aluminium")
    message = (
        f"the own law gives {figure(rate)} mm a cycle at {as_given(COMPARED_AT)} MPa√mm, load ratio 0; published"
        f" laws {figure(steel[0])} to {figure(steel[1])} for steel, {figure(aluminium[0])} to "
        f"{figure(aluminium[1])} for"
        " aluminium"
    )
    if steel[0] / MARGIN <= rate <= aluminium[1] * MARGIN:
        yield note("law-rate", message, field="coefficient")
        if rate > steel[1] * MARGIN:
            times = rate / steel[1]
            text = f"the own law is {figure(times)} times as fast as the fastest published one for steel: of aluminium?"
            yield caution("law-rate-of-aluminium", text, field="coefficient")
    else:
        message += ": is the unit system right (mm-MPa, m-MPa)?"
        yield caution("law-rate-implausible", message, field="coefficient")


def _exponents(law: GrowthLaw) -> Iterator[Finding]:
    for stage in (*law.low, *law.high):
        if not EXPONENTS[0] <= stage.exponent <= EXPONENTS[1]:
            low, high = EXPONENTS
            message = (
                f"an exponent of {as_given(stage.exponent)}: growth laws of metals have {as_given(low)} "
                f"to {as_given(high)}"
            )
            yield caution("exponent-implausible", message, field="exponent")


def _stages(law: GrowthLaw) -> Iterator[Finding]:
    """Two stages whose second is the steeper one: published laws have the steep one first, near the threshold."""
    if any(len(stages) == 2 and stages[1].exponent > stages[0].exponent for stages in (law.low, law.high)):
        message = (
            "the second stage is steeper than the first: the smaller rate would hold on both sides of where they"
            " meet if they stood the other way round, which is how published laws of two stages are given"
        )
        yield caution("stages-in-another-order", message, field="stages")


def _threshold(law: GrowthLaw) -> Iterator[Finding]:
    """Own thresholds beside the published ones: those of another unit differ by a factor of 32."""
    value = float(law.threshold.range_mpa_sqrt_mm(0.0))
    published = [float(named_threshold(name).range_mpa_sqrt_mm(r)) for name in threshold_names() for r in (0, 1)]
    low, high = min(published), max(published)
    if value > 0.0 and not low * (1.0 - 1e-9) <= value <= high * (1.0 + 1e-9):
        message = (
            f"a threshold of {figure(value)} MPa√mm: published ones lie between {figure(low)} and {figure(high)}"
            " (1 MPa√m is 31.6 MPa√mm)"
        )
        yield caution("threshold-implausible", message, field="threshold_mpa_sqrt_mm")
