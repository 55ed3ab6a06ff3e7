"""Pattern of the mesh at a notch: how many elements share a node of the line in a section across it."""

from __future__ import annotations

from fatcore import tables
from fatcore.figures import as_given
from fatcore.findings import Finding, caution, outside

PATTERN_TABLE = "stress/mesh_patterns"
_NEAR_DEG = 15.0  # a notch of nearly the angle has its pattern [own choice]


def known_pattern(element: str, opening_angle_deg: float) -> int | None:
    """Elements that share a node of the line where the constants were found; None where that is not known.

    Source : [peak-stress-review-2020]
    """
    for row in tables.load(PATTERN_TABLE)["pattern"]:
        if element in row["families"] and abs(row["opening_angle_deg"] - opening_angle_deg) <= _NEAR_DEG:
            return int(row["shared_by"])
    return None


def pattern_findings(element: str, opening_angle_deg: float, elements_around: int | None) -> tuple[Finding, ...]:
    """What the number of elements round a node says about the constants of quadrilaterals and bricks.

    Three elements in place of two at a toe of 135 deg lower the peak by about an eighth, which is four times
    the scatter of the constant.
    elements_around : that share a node of the line in a section across it; None: unknown
    Source : [peak-stress-review-2020]
    """
    if not any(element in row["families"] for row in tables.load(PATTERN_TABLE)["pattern"]):
        return ()
    known = known_pattern(element, opening_angle_deg)
    expected = "no pattern is known" if known is None else f"{known} elements share a node of the line"
    text = (
        f"the constants of {element} hold for one pattern of the mesh; at {as_given(opening_angle_deg)} deg {expected}"
    )
    if elements_around is None:
        return (caution("mesh-pattern-on-faith", f"{text}: not checked here", field="mesh"),)
    if known is None:
        return (caution("mesh-pattern-unknown", f"{text}, here {elements_around}", field="mesh"),)
    if elements_around == known:
        return ()
    return (outside("mesh-pattern-outside", f"{text}, here {elements_around}", field="mesh"),)
