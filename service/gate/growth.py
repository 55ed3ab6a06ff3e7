"""What became of the numbers of a weld line since its stored state."""

from __future__ import annotations

from collections.abc import Iterator

from fatcore.figures import as_given, change, coordinate, rounded_down

from ..base.text import number
from ..comparison.tolerance import more, same, shown
from ..lines.directions import turns
from .alike.locations import ends_turned
from .alike.pattern import runs_backwards
from .baseline import StoredLine
from .result import AnsweredLine, Fault, Limits

FALL_PCT = 20.0  # a utilisation that falls, or a crack's life that grows, by more is reported: was something left out?
SAME_INPUT = "the input is the same, so the calculation has changed"
SHORTER = 0.01  # share of its length by which a line may become shorter unreported
TURN_DEG = 1.0  # directions that turn by more are another rule: they weigh the stresses
REPORTED_TURN_DEG = 0.05  # well above what the rounding of kept directions makes
KINDS = {"utilisation": "utilisation", "unjudged_utilisation": "utilisation of stations not judged"}


def grown(now: StoredLine, before: StoredLine, limits: Limits) -> tuple[list[Fault], list[str]]:
    """Growth beyond what is allowed, of the judged stations and of the others: a fault above the floor.

    It counts from the reference, not from the state stored last, so that small steps add up.
    """
    faults, notes = [], []
    for name, words in KINDS.items():
        new, old = getattr(now, name), before.reference(name)
        last = getattr(before, name)
        since = (
            "" if old is None or same(last, old) else f", the reference ({_two(old, last, limits)[1]} was stored last),"
        )
        text = None if new is None else _growth(words, new, old, since, limits)
        if text is None:
            continue
        text += f"; {SAME_INPUT}" if _same_input(now, before) else ""
        if new > limits.growth_floor:
            faults.append(Fault("growth", text))
        else:
            notes.append(f"{text}; fails nothing up to {number(limits.growth_floor)}")
    return faults, notes


def _growth(words: str, new: float, old: float | None, since: str, limits: Limits) -> str | None:
    """The growth in words where it is more than allowed."""
    if not more(new, (old or 0.0) * (1.0 + limits.growth_pct / 100.0)):
        return None
    text = f"{words} grew from {_two(old, new, limits)[0]}{since} to {_two(old, new, limits)[1]}"
    if old:
        text += f" ({change(_change_pct(new, old), limits.growth_pct)}, allowed +{as_given(limits.growth_pct)} %)"
    return text


def _two(old: float | None, new: float | None, limits: Limits) -> tuple[str, str]:
    """Two utilisations as texts, on their sides of 1 and of the limit of the run."""
    return shown(old, new, form=limits.used_text)


def _change_pct(new: float, old: float) -> float:
    return 100.0 * (new / old - 1.0)


def _same_input(now: StoredLine, before: StoredLine) -> bool:
    return now.request_digest == before.request_digest


def moved(now: StoredLine, before: StoredLine, limits: Limits) -> Iterator[str]:
    """A number that moved though its input did not, or fell so far that something may be missing."""
    text = "utilisation {} -> {}".format(*_two(before.utilisation, now.utilisation, limits))
    if _same_input(now, before):
        if not same(now.utilisation, before.utilisation):
            yield f"{text}; {SAME_INPUT}"
    elif fell_far(now, before):
        text = "utilisation {} -> {}".format(*_two(before.highest, now.utilisation, limits))
        text += f" ({change(_change_pct(now.utilisation, before.highest))}) fell far"
        yield f"{text}: is all of the load and of the line still there?"


def fell_far(now: StoredLine, before: StoredLine) -> bool:
    """Whether so much less is used that something may be missing: stored with a reason only."""
    return before.highest > 0.0 and _change_pct(now.utilisation, before.highest) < -FALL_PCT


def stored_state(before: StoredLine, limits: Limits) -> Iterator[str]:
    """That the state a line is compared with had not passed itself."""
    if before.verdict != "pass":
        word = "had failed" if before.verdict == "fail" else "was undecided"
        used = limits.used_text(before.utilisation)
        yield f"the stored state {word}, with a utilisation of {used}: no accepted state"


def shorter(now: StoredLine, before: StoredLine) -> Iterator[str]:
    """A line that lost length or stations."""
    if now.length_mm < (1.0 - SHORTER) * before.length_mm:
        yield "the line is shorter: {} -> {} mm".format(*shown(before.length_mm, now.length_mm))
    if now.stations < before.stations:
        yield f"the line has fewer stations: {before.stations} -> {now.stations}"


def turned(line: AnsweredLine, before: StoredLine) -> tuple[list[Fault], list[str]]:
    """Directions that turned: another rule beyond a degree, below it a note."""
    faults, notes = [], []
    backwards = listed_backwards(line.state, before)
    for name, (angle_deg, position_mm) in turns(before.directions, line.given, backwards).items():
        text = f"directions turned by {number(angle_deg)} deg ({name} at {coordinate(position_mm)} mm)"
        if angle_deg > TURN_DEG:
            faults.append(Fault("rules", f"rules changed: {text}"))
        elif angle_deg > REPORTED_TURN_DEG:
            notes.append(text)
    return faults, notes


def listed_backwards(now: StoredLine, before: StoredLine) -> bool | None:
    """Whether a line is listed from its other end, by coordinates or else stresses; None when unknown."""
    turned = ends_turned(now.ends_mm, before.ends_mm)
    return runs_backwards(now.pattern, before.pattern) if turned is None else turned


def changed(now: StoredLine, before: StoredLine, limits: Limits) -> Iterator[str]:
    """Numbers that are others than the stored ones, however little: what a new baseline replaces."""
    for name, words in {**KINDS, "length_mm": "length in mm", "stations": "stations"}.items():
        new, old = getattr(now, name), getattr(before, name)
        if new != old and (new is None or old is None or not same(new, old)):
            texts = _two(old, new, limits) if name in KINDS else shown(old, new)
            text = "{} {} -> {}".format(words, *texts)
            yield text + (f" ({change(_change_pct(new, old))})" if new is not None and old else "")


def life_far(now: float | None, before: float | None) -> bool:
    """Whether a crack's life changed so much, either way, that it is stored with a reason only; None: infinite."""
    if now is None or before is None:
        return now is not before
    return abs(now - before) > FALL_PCT / 100.0 * before


def life_changes(now: float | None, before: float | None, same_input: bool) -> Iterator[str]:
    """A crack's life that became shorter, or so much longer that something may be missing; None: infinite."""
    if now == before or (now is not None and before is not None and same(now, before)):
        return
    lives = "{} -> {} repeats".format(*shown(before, now, "infinite", rounded_down))
    if now is not None and (before is None or now < before):
        text = f"the life of the crack is shorter: {lives}"
    elif before is not None and (now is None or more(now, before * (1.0 + FALL_PCT / 100.0))):
        grew = "" if now is None or before == 0.0 else f" ({change(_change_pct(now, before))})"
        text = f"the life of the crack grew far: {lives}{grew}"
        text += "" if same_input else ": is all of the load and of the depth path still there?"
    elif same_input:
        text = f"the life of the crack: {lives}"
    else:
        return
    yield text + (f"; {SAME_INPUT}" if same_input else "")
