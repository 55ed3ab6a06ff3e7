"""Every word that a table may name a unit by: those of the quantities here, prefixed ones, and common others."""

from __future__ import annotations

import re
import unicodedata

from .kinds import KINDS

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
_OF_STRESS_TOO = "tpa dapa dpa cpa upa msi tsi psf ksf kpsi gpsi mbar kbar atm torr mmhg inhg"
_OTHERS = """n kn mn dan cn gn un nm knm nmm lbf lb lbs kip kips kgf kg g mg t ton tonne tons tonnes pound pounds
s sec ms us h hr min second seconds minute minutes hour hours hz khz mhz ghz v mv uv mv/v
strain microstrain ustrain uε ue millistrain mstrain ppm
deg degree degrees rad radian radians mrad urad grad gon rpm celsius fahrenheit kelvin rankine
degc degf degk °c °f k % percent m/s m/s2 mm/m um/m km thou mil mils a ma w kw j kj mj counts digits"""
_OF_KINDS = {ending for kind in KINDS.values() for ending in (kind.ending[1:], *kind.others) if "_" not in ending}
KNOWN = {*STRESS_TO_MPA, *LENGTH_TO_MM, *_OF_STRESS_TOO.split(), *_OTHERS.split(), *_OF_KINDS}
# words that a name may end with and mean something else: sigma_m, stress_in, stress_h
AMBIGUOUS = {*"nmshgtvkawj", "in", "foot", "yard", "us", "ms", "ue", "min", "deg", "rad", "sec", "counts", "digits"}
# of these the letters that are no unit of the quantities here: the amplitude sigma_a, the temperature in K
_LETTERS = {*"gtvkawj"}
_FACTOR = r"x?[\d.,]+(?:e[+-]?\d+)?x?"
_SCALED = re.compile(rf"(?:{_FACTOR}[*·]?)?(?P<unit>[a-zµμ°%]+?)(?P<after>\^.*|[*·]?x?\d[\d.,]*)?")
_FACTOR_ALONE = re.compile(r"[x*·]10+|10+[x*·]|\d+e\d+|10\^.*")
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
_SIGNS = str.maketrans({"²": "^2", "³": "^3", "×": "x", "√": " sqrt "})  # before they are made letters and digits
_SPELLINGS = (("²", "2"), ("³", "3"), ("^", ""), ("**", ""), ("*", ""), ("·", ""), (" ", ""), ("µ", "u"), ("μ", "u"))


def in_plain_signs(name: str) -> str:
    """A name in plain signs, with signs for the units that it spells out."""
    text = unicodedata.normalize(
        "NFKC", name.replace("²", "^2").replace("³", "^3").replace("×", "x").replace("√", " sqrt ")
    )
    for words, unit in _SPELLED:
        text = re.sub(rf"(?<![^\W_]){words}(?![^\W_])", unit, text, flags=re.IGNORECASE)
    return text


def in_short(unit: str) -> str:
    """A unit in small letters, without signs that mean the same.

    >>> in_short("N / mm^2"), in_short("kN per m²")
    ('n/mm2', 'kn/m2')
    """
    text = re.sub(r"\s+per\s+", "/", unit.strip().lower())
    for spelling, plain in _SPELLINGS:
        text = text.replace(spelling, plain)
    return text


def is_like_unit(word: str) -> bool:
    """Whether a word in small letters is a unit, one with a factor or power, or a factor.

    Letters that are seldom units are none alone; with digits beside it one letter is a component.

    >>> [is_like_unit(word) for word in ("ksi", "10mpa", "mm2", "m^0", "x10", "1e3", "celsius", "mpa·10")]
    [True, True, True, True, True, True, True, True]
    >>> [is_like_unit(word) for word in ("s11", "max", "a", "12", "x1", "e3")]
    [False, False, False, False, False, False]
    """
    if word in KNOWN:
        return word not in _LETTERS
    found = _SCALED.fullmatch(word)
    if found is None or found["unit"] not in KNOWN:
        return _FACTOR_ALONE.fullmatch(word) is not None
    return len(found["unit"]) > 1 or (found["after"] or "").startswith("^")
