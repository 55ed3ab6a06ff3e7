"""Units that the names of a table's columns state, and what does not agree with them."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection

from fatcore.errors import InputError
from fatcore.figures import as_given
from fatcore.findings import Finding, note

from ..units.words import AMBIGUOUS, KNOWN, LENGTH_TO_MM, STRESS_TO_MPA, in_plain_signs, in_short, is_like_unit
from .problems import Problem

_OTHER_QUANTITIES = """force load moment torque strain time displacement deflection acceleration voltage
temperature temp disp frequency freq"""
OTHER_QUANTITIES = set(_OTHER_QUANTITIES.split())
# a column whose name has no other words than these is read as stress only where it is named to be read
_COUNTERS = """t time date hour hours minute minutes second seconds cycle cycles index idx i n no nr number count
counter step row line point sample samples increment frame node nodes element id x y z position distance station
speed"""
_NO_STRESS = set(_COUNTERS.split()) | OTHER_QUANTITIES - {"load"}  # a load of a unit case stands for its stress
_BRACKETS = re.compile(r"[\[(<{]([^\])>}]*)[\])>}]")
_PAIRS = {"]": "[", ")": "(", "}": "{"}
_JOINED = re.compile(r"(?<=[a-z0-9])(?:[GkhM]?Pa|[kKM]?psi|[kKP]si|KSI|PSI|kN|kNm)$")
_PRESSURE = re.compile(r"[a-z]{1,4}/[a-z]{1,2}2")
_SEPARATORS = re.compile(r"[^\w/^*·%°²]+|_")
_INCH, _FOOT = ('"', "\u2033", "''", "\u2032\u2032"), ("'", "\u2032")
_MEANS = {"avg", "average", "averaged", "mean", "nodal"}
_OF_STRESS = STRESS_TO_MPA.keys() - {"bar"}  # a bar is a part too
_OF_LENGTH = LENGTH_TO_MM.keys() - {"m", "in", "foot", "yard"}
_INDEX = re.compile(r"\d+|[xyz]{1,2}")
_SAME = 0.01  # relative difference of a factor that is rounding


def find_stated_unit(name: str) -> str | None:
    """The unit that a column of stresses states; None where it has none.

    What stands in brackets or after "/", ":" or "," is a unit, even one that is not known, unless it is a
    number or names axes; a known unit is one as the last word, one of stress as any word. Words end at every
    sign that is no letter, digit or part of a unit.

    >>> [find_stated_unit(name) for name in ("stress_ksi", "S1 [N/mm²]", "sigma_m", "force_N", "sGPa", "s/xy")]
    ['ksi', 'n/mm2', None, 'n', 'gpa', None]
    >>> [find_stated_unit(name) for name in ("syy/ksi", "ksi_syy", "syy [Mpsi]", "sigma (top)", "S: xx [MPa]")]
    ['ksi', 'ksi', 'mpsi', 'top', 'mpa']
    >>> [find_stated_unit(name) for name in ("sxx|GPa", "sxx=GPa", "sxx @GPa", "sxx gigapascal")]
    ['gpa', 'gpa', 'gpa', 'gpa']
    """
    return next(iter(_units_of_stress(name)), None)


def _units_of_stress(name: str) -> list[str]:
    """Every unit that the name of a column of stresses states, the surest first."""
    name = in_plain_signs(name)
    marked = _marked(name)
    known = [unit for unit in marked if _is_known(unit)]
    return [*known, *_of_words(name), *marked]


def find_contradiction(name: str) -> str | None:
    """Why the unit of a column cannot be read: a bracket without its other half, or two units of stress.

    >>> find_contradiction("sxx [MPa] (GPa)"), find_contradiction("S1 [N/mm²] (MPa)")
    ('states the units mpa and gpa', None)
    >>> find_contradiction("sxx [Pa")
    'has a bracket without its other half'
    """
    if not _brackets_close(unicodedata.normalize("NFKC", name)):
        return "has a bracket without its other half"
    units = {STRESS_TO_MPA[unit]: unit for unit in reversed(_units_of_stress(name)) if unit in STRESS_TO_MPA}
    return f"states the units {' and '.join(reversed(units.values()))}" if len(units) > 1 else None


def _brackets_close(name: str) -> bool:
    still_open: list[str] = []
    for sign in name:
        if sign in _PAIRS.values():
            still_open.append(sign)
        elif sign in _PAIRS and (not still_open or still_open.pop() != _PAIRS[sign]):
            return False
    return not still_open


def reads_as_no_stress(name: str) -> bool:
    """Whether a name states no unit and has only words for a count, a place, a time or another quantity.

    >>> [reads_as_no_stress(name) for name in ("time", "node id", "x", "strain 1", "stress x", "load")]
    [True, True, True, True, False, False]
    """
    words = [word for word in _words(in_plain_signs(name)) if not word.isdigit()]
    return find_stated_unit(name) is None and bool(words) and set(words) <= _NO_STRESS


def _of_words(name: str) -> list[str]:
    """Known units among the words of the name of a column of stresses."""
    words, found = _words(name), []
    for size in (3, 2, 1):
        unit = "/".join(word for word in words[-size:] if word != "per")
        clear = len(unit) > 1 and unit not in AMBIGUOUS
        if unit in KNOWN and (clear or OTHER_QUANTITIES & set(words)):
            found.append(unit)
    joined = _JOINED.search(name)
    found += [in_short(joined[0])] if joined else []
    return [*found, *(word for word in words if word in _OF_STRESS)]


def _marked(name: str) -> list[str]:
    """What stands in brackets or after a mark, without numbers and axes."""
    first, *after = re.split("[:,]", _BRACKETS.sub(" ", name))
    *over, last = first.split("/")
    if over:
        whole = in_short(f"{re.split(r'[^a-zA-Z]', over[-1])[-1]}/{last}")
        after.append(whole if _is_known(whole) else last)
    units = map(in_short, [*_BRACKETS.findall(name), *after])
    return [unit for unit in units if unit and not _INDEX.fullmatch(unit)]


def _is_known(unit: str) -> bool:
    return unit in KNOWN or _PRESSURE.fullmatch(unit) is not None


def find_end_like_unit(name: str) -> str | None:
    """What a name ends in that is like a unit, also with a factor or a power; None where it is like none.

    Numbers at the end count what is alike. Units that are composed by `per` and `sqrt` are found at any place.

    >>> [find_end_like_unit(name) for name in ("sigma_m", "F_N 2", "k_mpa_sqrt_m", "s [MPa]", "s n mm2", "s_10MPa")]
    ['m', 'n', 'mpa_sqrt_m', 'mpa', 'n/mm2', '10mpa']
    >>> [find_end_like_unit(name) for name in ("stress", "sigma_max", "s (top)", "s", "sigma_a")]
    [None, None, None, None, None]
    """
    name = in_plain_signs(name).strip()
    words = [word.lower() for word in _SEPARATORS.split(_BRACKETS.sub(" ", name)) if word]
    for at, word in enumerate(words[1:-1], start=1):
        before, after = in_short(words[at - 1]), in_short(words[at + 1])
        if word in ("per", "sqrt") and before in KNOWN:
            whole = f"{before}/{after}"
            return whole if word == "per" and whole in STRESS_TO_MPA else f"{before}_{word}_{after}"
    while words and words[-1].isdigit():
        words.pop()
    brackets = _BRACKETS.findall(name) if name.endswith(tuple(_PAIRS)) else []
    last = brackets[-1].lower() if brackets else words[-1] if words else ""
    parts = "/".join(map(in_short, words[-2:]))
    if not brackets and parts in STRESS_TO_MPA:
        return parts
    if not brackets and len(words) == 1 and last in AMBIGUOUS:  # a name of its own: s, m
        return None
    return in_short(last) if in_short(last) in STRESS_TO_MPA or is_like_unit(last) else None


def units_of_component(name: str) -> list[str]:
    """Units that the name of one number of a tensor states: known ones, and what stands in brackets
    and is no word for a mean.

    >>> [units_of_component(name) for name in ("SXX [ksi]", "S:xx_N/mm2", "XX (odd)", "S:sxx", "S12 (avg)")]
    [['ksi'], ['n/mm2'], ['odd'], [], []]
    """
    bracketed = set(map(in_short, _BRACKETS.findall(in_plain_signs(name)))) - _MEANS
    found = [unit for unit in _units_of_stress(name) if _is_known(unit) or unit in bracketed]
    return list(dict.fromkeys(found))


def guard_mpa(name: str) -> None:
    """Problem 422 when a column of stresses in MPa states another unit, or one that cannot be read."""
    unit, contradiction, end = find_stated_unit(name), find_contradiction(name), find_end_like_unit(name)
    if contradiction is not None:
        message = f"column {name!r} {contradiction}: name it with one unit"
    elif unit is not None and STRESS_TO_MPA.get(unit) != 1.0:
        message = f"column {name!r} states the unit {unit}: stresses are taken in MPa, convert them"
    elif end is not None and STRESS_TO_MPA.get(end) != 1.0:
        message = f"column {name!r} ends like a unit ({end}): stresses are taken in MPa, end it with MPa where they are"
    else:
        return
    raise Problem(422, message, [("/columns", message)])


def guard_stress_factor(name: str, factor: float) -> None:
    """InputError when a column of stresses states a unit that the factor does not turn into MPa."""
    unit = find_stated_unit(name)
    _guard_readable(name)
    _guard_end(name, STRESS_TO_MPA.keys(), "stress")
    if unit is None:
        return
    if unit not in STRESS_TO_MPA:
        raise InputError(f"column {name!r} states the unit {unit}, which is none of stress known here", "table")
    _compared(name, unit, factor, STRESS_TO_MPA[unit], "stress_factor")


def guard_length_factor(name: str, factor: float) -> None:
    """InputError when a column of lengths states a unit that the factor does not turn into mm.

    Marks as in `find_stated_unit`; words are known units of length, m, in, foot and yard as the last one only. A
    double prime at the end is the inch, a single one the foot.
    """
    _guard_readable(name)
    plain_name = in_plain_signs(name)
    marked, words = _marked(plain_name), _words(plain_name)
    last = words[-1:] if len(words) > 1 else []
    plain = [word for word in words if word in _OF_LENGTH or word in last]
    known = [unit for unit in (*marked, *plain, *_primes(plain_name)) if unit in LENGTH_TO_MM]
    if marked and not known:
        raise InputError(f"column {name!r} states the unit {marked[0]}, which is none of length known here", "table")
    if not known:
        _guard_end(name, LENGTH_TO_MM.keys(), "length")
    for unit in known:
        _compared(name, unit, factor, LENGTH_TO_MM[unit], "length_factor")


def guard_given_unit(unit: str, factor: float, what: str, *, length: bool = False) -> bool:
    """Whether a unit that a file gives beside its numbers is known; InputError when the factor does not turn it
    into MPa, or into mm, and for a unit of something else.

    >>> guard_given_unit("N/mm^2", 1.0, "array 'S'"), guard_given_unit("UNKNOWN", 1.0, "array 'S'")
    (True, False)
    """
    known, field = (LENGTH_TO_MM, "length_factor") if length else (STRESS_TO_MPA, "stress_factor")
    name = in_short(in_plain_signs(unit))
    if name in known:
        _compare(f"the file gives {what} in {unit}", factor, known[name], "mesh", field)
    elif name in KNOWN:
        raise InputError(
            f"the file gives {what} in {unit}, which is no unit of {'length' if length else 'stress'}", "mesh"
        )
    return name in known


def _primes(name: str) -> list[str]:
    """The unit that signs at the end of a name stand for."""
    if name.rstrip().endswith(_INCH):
        return ["in"]
    return ["ft"] if name.rstrip().endswith(_FOOT) else []


def _guard_readable(name: str) -> None:
    contradiction = find_contradiction(name)
    if contradiction is not None:
        raise InputError(f"column {name!r} {contradiction}: name it with one unit", "table")


def _guard_end(name: str, known: Collection[str], what: str) -> None:
    """InputError for a name that ends like a unit of something else; the factor speaks for what is ambiguous."""
    end = find_end_like_unit(name)
    if end is not None and end not in known and end not in AMBIGUOUS:
        raise InputError(f"column {name!r} ends like a unit ({end}), which is none of {what} known here", "table")


def unit_findings(unit_stated: bool) -> tuple[Finding, ...]:
    """That stresses of a table whose columns name no unit were taken as MPa."""
    if unit_stated:
        return ()
    text = "the table names no unit: its numbers were taken as stresses in MPa"
    return (note("unit-not-stated", text, field="history_mpa"),)


def _compared(name: str, unit: str, factor: float, expected: float, field: str) -> None:
    _compare(f"column {name!r} states the unit {unit}", factor, expected, "table", field)


def _compare(what: str, factor: float, expected: float, *path: str) -> None:
    if abs(factor / expected - 1.0) > _SAME:
        raise InputError(f"{what}, which asks for {as_given(expected)}, not {as_given(factor)}", *path)


def _words(name: str) -> list[str]:
    """Words of a name outside its brackets."""
    return [in_short(word) for word in _SEPARATORS.split(_BRACKETS.sub(" ", name)) if word]
