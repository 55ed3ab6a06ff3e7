"""The rule of the verdict: of a line from its stations, of a check from its lines. Nothing else decides."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from fatcore.curves.limits.limits_of_use import RANGE_BEYOND_YIELD, STRESS_BEYOND_YIELD
from fatcore.curves.relief import RELIEVING
from fatcore.findings import Finding
from fatcore.require import FloatArray

Verdict = Literal["pass", "fail", "undecided"]
GRAVITY: tuple[Verdict, ...] = ("fail", "undecided", "pass")
# what an overload leaves as a consequence excuses none, nor what relieves too much: without it more is missed
_NO_EXCUSE = frozenset({"life-cycles-outside", RANGE_BEYOND_YIELD, STRESS_BEYOND_YIELD, *RELIEVING})


def line_verdict(
    utilisation: FloatArray,
    judged: NDArray[np.bool_],
    touched: NDArray[np.bool_],
    *,
    left_open: bool,
    reasoned: bool,
) -> Verdict:
    """Verdict of a line.

    Fail when a judged station that no `outside` finding touches is over the limit; else undecided when such a
    finding leaves the line open, or a station that is not judged is over the limit without a reason.

    utilisation, judged, touched : by station, (n,); touched by an `outside` finding
    left_open                    : an `outside` finding touches a judged station that matters
    reasoned                     : a reason is given for leaving stations out
    """
    over = utilisation > 1.0
    if (over & judged & ~touched).any():
        return "fail"
    unsaid = bool((over & ~judged).any()) and not reasoned
    return "undecided" if left_open or unsaid else "pass"


def check_verdict(verdicts: Iterable[Verdict]) -> Verdict:
    """Fail when any line or crack fails, else undecided when any is undecided, else pass.

    >>> check_verdict(["pass", "undecided", "fail"]), check_verdict(["pass", "undecided"])
    ('fail', 'undecided')
    """
    found = set(verdicts)
    return next(verdict for verdict in GRAVITY if verdict in found)


def find_deciding_lines(verdicts: Mapping[str, Verdict], overall: Verdict) -> tuple[str, ...]:
    """Names of the lines that make the verdict; none when all pass.

    >>> find_deciding_lines({"toe": "pass", "root": "undecided"}, "undecided")
    ('root',)
    """
    return () if overall == "pass" else tuple(name for name, one in verdicts.items() if one == overall)


def damage_verdict(damage: float, damage_limit: float, findings: Iterable[Finding]) -> Verdict:
    """Verdict of one damage sum: undecided when a validity limit is left, else whether it keeps to its limit.

    A sum over its limit fails also where the life is shorter than the curve holds for: a smaller load does; and
    where a choice relieves too much: without it the sum is larger.

    damage, damage_limit : of all passes and permissible [-]; the limit itself passes
    """
    left = {finding.code for finding in findings if finding.severity == "outside"}
    if damage > damage_limit and left <= _NO_EXCUSE:
        return "fail"
    return "undecided" if left else "pass"
