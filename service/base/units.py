"""Units that the names of a table's columns state, and what does not agree with them."""

from __future__ import annotations

import re

from fatcore.errors import InputError
from fatcore.findings import Finding, note

from .problems import Problem

STRESS_TO_MPA = {
    "mpa": 1.0,
    "106pa": 1.0,  # 10^6 Pa
    "n/mm2": 1.0,
    "mn/m2": 1.0,
    "pa": 1e-6,
    "n/m2": 1e-6,
    "hpa": 1e-4,
    "kpa": 1e-3,
    "kn/m2": 1e-3,
    "bar": 0.1,
    "kn/cm2": 10.0,
    "dan/mm2": 10.0,
    "gpa": 1e3,
    "kn/mm2": 1e3,
    "kgf/mm2": 9.80665,
    "kg/mm2": 9.80665,
    "kgf/cm2": 0.0980665,
    "kg/cm2": 0.0980665,
    "psi": 6.894757e-3,
    "lbf/in2": 6.894757e-3,
    "ksi": 6.894757,
    "mpsi": 6.894757e3,
}
LENGTH_TO_MM = {
    **dict.fromkeys(("mm", "millimetre", "millimetres", "millimeter", "millimeters"), 1.0),
    **dict.fromkeys(("cm", "centimetre", "centimetres", "centimeter", "centimeters"), 10.0),
    "dm": 100.0,
    **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), 1e3),
    "um": 1e-3,
    **dict.fromkeys(("in", "inch", "inches"), 25.4),
    **dict.fromkeys(("ft", "foot", "feet"), 304.8),
    **dict.fromkeys(("yd", "yard", "yards"), 914.4),
}
_OTHER_UNITS = """n kn mn nm knm nmm lbf lb kip kips kgf kg g t s sec ms us h hz v mv mv/v strain microstrain
ustrain ue uε tsi psf ksf deg rad degc °c °f k % m/s m/s2 mm/m um/m a ma w kw j counts digits"""
# words that a name may end with and mean something else: sigma_m, stress_in, stress_h
AMBIGUOUS = {"in", "foot", "yard", "us", "ms", "ue", "deg", "rad", "sec", "counts", "digits"}
_OTHER_QUANTITIES = """force load moment torque strain time displacement deflection acceleration voltage
temperature"""
OTHER_QUANTITIES = set(_OTHER_QUANTITIES.split())
_BRACKETS = re.compile(r"[\[(<{]([^\])>}]*)[\])>}]")
_JOINED = re.compile(r"(?<=[a-z])(?:[GkhM]?Pa|[kKM]?psi|[kKP]si|KSI|PSI|kN|kNm)$")
_PRESSURE = re.compile(r"[a-z]{1,4}/[a-z]{1,2}2")
_SPELLINGS = (("²", "2"), ("^", ""), ("**", ""), ("*", ""), ("·", ""), (" ", ""), ("µ", "u"), ("μ", "u"))
_KNOWN = STRESS_TO_MPA.keys() | LENGTH_TO_MM.keys() | set(_OTHER_UNITS.split())
_OF_STRESS = STRESS_TO_MPA.keys() - {"bar"}  # a bar is a part too
_OF_LENGTH = LENGTH_TO_MM.keys() - {"m", "in", "foot", "yard"}
_INDEX = re.compile(r"\d+|[xyz]{1,2}")
_SAME = 0.01  # relative difference of a factor that is rounding


def find_stated_unit(name: str) -> str | None:
    """The unit that a column of stresses states; None where it has none.

    What stands in brackets or after "/", ":" or "," is a unit, even one that is not known, unless it is a
    number or names axes; a known unit is one as the last word, one of stress as any word.

    >>> [find_stated_unit(name) for name in ("stress_ksi", "S1 [N/mm²]", "sigma_m", "force_N", "sGPa", "s/xy")]
    ['ksi', 'n/mm2', None, 'n', 'gpa', None]
    >>> [find_stated_unit(name) for name in ("syy/ksi", "ksi_syy", "syy [Mpsi]", "sigma (top)", "S: xx [MPa]")]
    ['ksi', 'ksi', 'mpsi', 'top', 'mpa']
    """
    marked = _marked(name)
    known = [unit for unit in marked if _is_known(unit)]
    return next(iter([*known, *_of_words(name), *marked]), None)


def _of_words(name: str) -> list[str]:
    """Known units among the words of the name of a column of stresses."""
    words, found = _words(name), []
    for size in (3, 2, 1):
        unit = "/".join(word for word in words[-size:] if word != "per")
        clear = len(unit) > 1 and unit not in AMBIGUOUS
        if unit in _KNOWN and (clear or OTHER_QUANTITIES & set(words)):
            found.append(unit)
    joined = _JOINED.search(name)
    found += [_normal(joined[0])] if joined else []
    return [*found, *(word for word in words if word in _OF_STRESS)]


def _marked(name: str) -> list[str]:
    """What stands in brackets or after a mark, without numbers and axes."""
    first, *after = re.split("[:,]", _BRACKETS.sub(" ", name))
    *over, last = first.split("/")
    if over:
        whole = _normal(f"{re.split(r'[^a-zA-Z]', over[-1])[-1]}/{last}")
        after.append(whole if _is_known(whole) else last)
    units = map(_normal, [*_BRACKETS.findall(name), *after])
    return [unit for unit in units if unit and not _INDEX.fullmatch(unit)]


def _is_known(unit: str) -> bool:
    return unit in _KNOWN or _PRESSURE.fullmatch(unit) is not None


def guard_mpa(name: str) -> None:
    """Problem 422 when a column of stresses in MPa states another unit."""
    unit = find_stated_unit(name)
    if unit is not None and STRESS_TO_MPA.get(unit) != 1.0:
        message = f"column {name!r} states the unit {unit}: stresses are taken in MPa, convert them"
        raise Problem(422, message, [("/columns", message)])


def guard_stress_factor(name: str, factor: float) -> None:
    """InputError when a column of stresses states a unit that the factor does not turn into MPa."""
    unit = find_stated_unit(name)
    if unit is None:
        return
    if unit not in STRESS_TO_MPA:
        raise InputError(f"column {name!r} states the unit {unit}, which is none of stress known here", "table")
    _compared(name, unit, factor, STRESS_TO_MPA[unit], "stress_factor")


def guard_length_factor(name: str, factor: float) -> None:
    """InputError when a column of lengths states a unit that the factor does not turn into mm.

    Marks as in `stated_unit`; words are known units of length, m as the last one only, in not at all.
    """
    marked, words = _marked(name), _words(name)
    last = words[-1:] if len(words) > 1 else []
    plain = [word for word in words if word in _OF_LENGTH or (word == "m" and word in last)]
    known = [unit for unit in (*marked, *plain) if unit in LENGTH_TO_MM]
    if marked and not known:
        raise InputError(f"column {name!r} states the unit {marked[0]}, which is none of length known here", "table")
    for unit in known:
        _compared(name, unit, factor, LENGTH_TO_MM[unit], "length_factor")


def unit_findings(unit_stated: bool) -> tuple[Finding, ...]:
    """That stresses of a table whose columns name no unit were taken as MPa."""
    if unit_stated:
        return ()
    text = "the table names no unit: its numbers were taken as stresses in MPa"
    return (note("unit-not-stated", text, field="history_mpa"),)


def _compared(name: str, unit: str, factor: float, expected: float, field: str) -> None:
    if abs(factor / expected - 1.0) > _SAME:
        text = f"column {name!r} states the unit {unit}, which asks for {expected:g}, not {factor:g}"
        raise InputError(text, "table", field)


def _normal(unit: str) -> str:
    text = unit.strip().lower()
    for spelling, plain in _SPELLINGS:
        text = text.replace(spelling, plain)
    return text


def _words(name: str) -> list[str]:
    """Words of a name outside its brackets."""
    return [_normal(word) for word in re.split(r"[\s_:;,.\-]+", _BRACKETS.sub(" ", name)) if word]
