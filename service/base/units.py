"""Units that the names of a table's columns state, and what does not agree with them."""

from __future__ import annotations

import re
import unicodedata

from fatcore.errors import InputError
from fatcore.figures import as_given
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
    "kip/in2": 6.894757,
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
# a column whose name has no other words than these is read as stress only where it is named to be read
_COUNTERS = """t time date hour hours minute minutes second seconds cycle cycles index idx i n no nr number count
counter step row line point sample samples increment frame node nodes element id x y z position distance station
frequency speed"""
_NO_STRESS = set(_COUNTERS.split()) | OTHER_QUANTITIES - {"load"}  # a load of a unit case stands for its stress
_BRACKETS = re.compile(r"[\[(<{]([^\])>}]*)[\])>}]")
_PAIRS = {"]": "[", ")": "(", "}": "{"}
_JOINED = re.compile(r"(?<=[a-z0-9])(?:[GkhM]?Pa|[kKM]?psi|[kKP]si|KSI|PSI|kN|kNm)$")
_PRESSURE = re.compile(r"[a-z]{1,4}/[a-z]{1,2}2")
# spelled-out units as their signs
_SPELLED = (
    (r"square\s+millimet(?:er|re)s?", "mm2"),
    (r"square\s+centimet(?:er|re)s?", "cm2"),
    (r"square\s+met(?:er|re)s?", "m2"),
    (r"square\s+inch(?:es)?", "in2"),
    (r"(?:pounds?|lbs?)(?:\s+force)?(?=\s+per\b)", "lbf"),
    (r"kilo\s*newtons?", "kn"),
    (r"mega\s*newtons?", "mn"),
    (r"newtons?", "n"),
    (r"hecto\s*pascals?", "hpa"),
    (r"kilo\s*pascals?", "kpa"),
    (r"mega\s*pascals?", "mpa"),
    (r"giga\s*pascals?", "gpa"),
    (r"pascals?", "pa"),
    (r"kips?(?=\s+per\b)", "kip"),
)
_SEPARATORS = re.compile(r"[^\w/^*·%°²]+|_")
_INCH, _FOOT = ('"', "\u2033", "''", "\u2032\u2032"), ("'", "\u2032")
_SPELLINGS = (("²", "2"), ("^", ""), ("**", ""), ("*", ""), ("·", ""), (" ", ""), ("µ", "u"), ("μ", "u"))
_KNOWN = STRESS_TO_MPA.keys() | LENGTH_TO_MM.keys() | set(_OTHER_UNITS.split())
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
    name = _plain(name)
    marked = _marked(name)
    known = [unit for unit in marked if _is_known(unit)]
    return [*known, *_of_words(name), *marked]


def _plain(name: str) -> str:
    """A name in plain signs, with signs for the units that it spells out."""
    text = unicodedata.normalize("NFKC", name)
    for words, unit in _SPELLED:
        text = re.sub(rf"(?<![^\W_]){words}(?![^\W_])", unit, text, flags=re.IGNORECASE)
    return text


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
    words = [word for word in _words(_plain(name)) if not word.isdigit()]
    return find_stated_unit(name) is None and bool(words) and set(words) <= _NO_STRESS


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


def units_of_component(name: str) -> list[str]:
    """Units that the name of one number of a tensor states: known ones, and what stands in brackets
    and is no word for a mean.

    >>> [units_of_component(name) for name in ("SXX [ksi]", "S:xx_N/mm2", "XX (odd)", "S:sxx", "S12 (avg)")]
    [['ksi'], ['n/mm2'], ['odd'], [], []]
    """
    bracketed = set(map(_normal, _BRACKETS.findall(_plain(name)))) - _MEANS
    found = [unit for unit in _units_of_stress(name) if _is_known(unit) or unit in bracketed]
    return list(dict.fromkeys(found))


def guard_mpa(name: str) -> None:
    """Problem 422 when a column of stresses in MPa states another unit, or one that cannot be read."""
    unit, contradiction = find_stated_unit(name), find_contradiction(name)
    message = f"column {name!r} {contradiction}: name it with one unit"
    if contradiction is None:
        if unit is None or STRESS_TO_MPA.get(unit) == 1.0:
            return
        message = f"column {name!r} states the unit {unit}: stresses are taken in MPa, convert them"
    raise Problem(422, message, [("/columns", message)])


def guard_stress_factor(name: str, factor: float) -> None:
    """InputError when a column of stresses states a unit that the factor does not turn into MPa."""
    unit = find_stated_unit(name)
    _guard_readable(name)
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
    plain_name = _plain(name)
    marked, words = _marked(plain_name), _words(plain_name)
    last = words[-1:] if len(words) > 1 else []
    plain = [word for word in words if word in _OF_LENGTH or word in last]
    known = [unit for unit in (*marked, *plain, *_primes(plain_name)) if unit in LENGTH_TO_MM]
    if marked and not known:
        raise InputError(f"column {name!r} states the unit {marked[0]}, which is none of length known here", "table")
    for unit in known:
        _compared(name, unit, factor, LENGTH_TO_MM[unit], "length_factor")


def guard_given_unit(unit: str, factor: float, what: str, *, length: bool = False) -> bool:
    """Whether a unit that a file gives beside its numbers is known; InputError when the factor does not turn it
    into MPa, or into mm, and for a unit of something else.

    >>> guard_given_unit("N/mm^2", 1.0, "array 'S'"), guard_given_unit("UNKNOWN", 1.0, "array 'S'")
    (True, False)
    """
    known, field = (LENGTH_TO_MM, "length_factor") if length else (STRESS_TO_MPA, "stress_factor")
    name = _normal(_plain(unit))
    if name in known:
        _compare(f"the file gives {what} in {unit}", factor, known[name], "mesh", field)
    elif name in _KNOWN:
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


def _normal(unit: str) -> str:
    text = re.sub(r"\s+per\s+", "/", unit.strip().lower())
    for spelling, plain in _SPELLINGS:
        text = text.replace(spelling, plain)
    return text


def _words(name: str) -> list[str]:
    """Words of a name outside its brackets."""
    return [_normal(word) for word in _SEPARATORS.split(_BRACKETS.sub(" ", name)) if word]
