"""Which stations of a line an `outside` finding touches, and the findings on a mode that carries little."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from fatcore.check.findings.choices import BOUNDS_LOWER, SHEAR_FOR_OPENING
from fatcore.check.findings.line_ends import MOST_UNJUDGED, UNJUDGED_OVER_LIMIT
from fatcore.check.line import MODES
from fatcore.check.stations import SHARE_THAT_COUNTS, LineState
from fatcore.curves.biaxiality import BOUND_DECIDES, default_bounds
from fatcore.curves.limits.beyond_tests import EXTRAPOLATED_TOO_FAR, MOST_EXTRAPOLATED
from fatcore.curves.limits.limits_of_use import NOTICEABLE, RANGE_BEYOND_YIELD, STRESS_BEYOND_YIELD
from fatcore.curves.relief import RELIEVING
from fatcore.figures import against, figure
from fatcore.findings import Finding
from fatcore.stress.peak.elements import BELOW_SCATTER
from fatcore.stress.peak.line_evaluation import MEAN_LOWERS_PEAK

Stations = NDArray[np.bool_]
_NOT_COUNTED = tuple(f"{mode}-not-counted-largest" for mode in MODES)
_TOO_SMALL = (
    *_NOT_COUNTED,
    BOUNDS_LOWER,
    BOUND_DECIDES,
    MEAN_LOWERS_PEAK,
    MOST_UNJUDGED,
    RANGE_BEYOND_YIELD,
    STRESS_BEYOND_YIELD,
)
# what relieves a station may be why another one governs: it leaves the line open however little the station uses
_RELIEFS = (BELOW_SCATTER, SHEAR_FOR_OPENING)
ROUNDING = 1e-6  # of the squared equivalent: what solvers leave of a mode that does not act [own choice]
USED_MUCH = 0.5  # of what is allowed, in stress: a doubtful number below it is no danger [own choice]


def leaves_open(found: Iterable[Finding], state: LineState, governing_index: int) -> bool:
    """Whether an `outside` finding keeps a line from passing.

    One that relieves does at any judged station that it touches; every other one where such a station uses
    half or more of what is allowed, or governs.
    """
    used = find_used_stations(state, governing_index)
    return any(
        bool((_find_touched(finding, state) & (state.judged if finding.code in _RELIEFS else used)).any())
        for finding in found
        if finding.severity == "outside"
    )


def find_used_stations(state: LineState, governing_index: int) -> Stations:
    """Judged stations that use half or more of what is allowed, and the governing one, (n,)."""
    used = state.judged & (state.utilisation >= USED_MUCH)
    used[governing_index] = True
    return np.asarray(used)


def find_touched_stations(found: Iterable[Finding], state: LineState) -> Stations:
    """Stations whose number an `outside` finding makes doubtful, (n,).

    A finding on a mode touches where the mode carries a share that counts, one on the load ratio where it is
    left, one on short lives where the limit is kept all the same (else a smaller load fails within validity,
    and a larger one all the more), one on what relieves too much where the limit is kept (else it is missed
    without relief too), one on stations left out no judged one, one on a shear curve for opening where the
    ratio calls for the other, one on lives beyond the tests of a fitted curve where the damage rests on them;
    every other one touches the whole line.
    """
    touched = np.zeros(state.utilisation.size, dtype=np.bool_)
    for finding in found:
        if finding.severity == "outside":
            touched |= _find_touched(finding, state)
    return touched


def _find_touched(finding: Finding, state: LineState) -> Stations:
    if finding.code in (*_TOO_SMALL, *RELIEVING):
        # what is left out would only add, as what relieves too much: a station over the limit stays there
        return np.asarray(state.utilisation <= 1.0)
    if finding.field in MODES and state.shares.shape[1] == len(MODES):
        return _carried(finding, state)
    if finding.field == "load_ratio":
        return state.outside_ratio
    if finding.field == "life_cycles":
        return np.asarray((state.short_share >= NOTICEABLE) & (state.utilisation <= 1.0))
    if finding.code == EXTRAPOLATED_TOO_FAR:
        return np.asarray(state.beyond_share > MOST_EXTRAPOLATED)
    if finding.code == UNJUDGED_OVER_LIMIT:
        return ~state.judged
    if finding.code == SHEAR_FOR_OPENING:
        return np.asarray(state.ratio <= default_bounds()[1])
    return np.ones(state.utilisation.size, dtype=np.bool_)


def _carried(finding: Finding, state: LineState) -> Stations:
    """Where a mode carries a share that counts; of what relieves, one that is not mere rounding."""
    share = state.shares[:, MODES.index(finding.field)]
    return np.asarray(share > (ROUNDING if finding.code in _RELIEFS else SHARE_THAT_COUNTS))


def mode_finding(finding: Finding, state: LineState, governing_index: int) -> Finding:
    """A finding on the constants or the mesh of one mode, with what the mode carries.

    Where the mode carries next to nothing at every judged station, the finding is a caution.
    """
    if finding.severity != "outside" or finding.field not in MODES:
        return finding
    share = state.shares[:, MODES.index(finding.field)]
    counts = state.judged & _carried(finding, state)
    count = int(np.count_nonzero(counts))
    carried = f"this mode carries {figure(100 * share[governing_index])} % at the governing station"
    if count == 0:
        text = f"{finding.message} ({carried})"
        return replace(finding, code=f"{finding.code}-minor-mode", severity="caution", message=text)
    if counts[governing_index]:
        return replace(finding, count=count)
    most = 100 * state.utilisation[counts].max()
    text = (
        f"{finding.message} ({carried}, but counts at {count} other judged stations, which use up to "
        f"{against(most, 100.0)} %"
    )
    return replace(finding, message=f"{text} of what is allowed)", count=count)
