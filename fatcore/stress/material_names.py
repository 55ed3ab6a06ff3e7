"""What a material is by its name, as the trade writes names and grades [common practice]."""

from __future__ import annotations

import re
import unicodedata
from typing import Literal, get_args

from fatcore.errors import InputError

Family = Literal["steel", "austenitic steel", "aluminium"]
_STEEL: Family = "steel"
# grades of EN 10025, 10028, 10149, 10210 with their suffixes
_S = "s(?:185|235|275|315|355|420|450|460|500|550|600|620|650|690|700|890|900|960|1100|1300)"
_P = "p(?:195|235|265|275|295|355|420|460|500|690)"
_SUFFIX = r"(?:j[0r2]|k2|nl\d?|ml\d?|ql\d?|gh|g\d|z[123]5|ar|qt|[nmqwhc])"
_GRADE = rf"(?:{_S}|{_P}){_SUFFIX}*"
# marks that say what a material is whatever stands beside them
_MARKS: dict[str, str] = {
    "austenitic steel": r"austenit\w*|stainless|inox|duplex|(?:sus ?)?3(?:04|16|21|47)\w{0,2}|sus\d*\w*|18[/ ](?:8|10)"
    r"|v[24]a|x ?\d+ ?cr ?ni\w*|crni\w*|1\.4[345]\d\d",
    "aluminium": r"alumini?um|alu|al(?:(?:mg|si|zn|cu|mn)[\w.]*)?|(?:aw ?)?[567]\d{3}a?|aw ?\d{4}a?",
    "another metal": r"iron|cast(?! steel)|guss\w*|fonte|gj[slm]\w*|ggg?\d*|adi|ti(?:\d\w*)?|titan\w*"
    r"|ni(?:\d\w*|cr\w*)?|nickel|inconel|incoloy|monel|hastelloy|cu(?:(?:zn|sn|ni|al|be)\w*)?|copper|bronze|brass"
    r"|mg|magnesium|zn|zinc",
    _STEEL: _GRADE,
}
_ANCHOR = re.compile(rf"steels?|{_GRADE}|1\.[08]\d{{3}}")
# a name of steel has an anchor, and no other words than these
_WORD = re.compile(rf"{_SUFFIX}|10025|10028|10113|10137|10149|10210|10219|[1-6]|199\d|20[0-3]\d|a|my|our|the|of|and")
_WORDS = {
    *("structural", "structure", "construction", "constructional", "carbon", "mild", "weldable", "welded", "plain"),
    *("unalloyed", "weathering", "low", "high", "strength", "tensile", "yield", "fine", "grain", "grained", "hot"),
    *("cold", "rolled", "formed", "finished", "killed", "normalised", "normalized", "quenched", "tempered"),
    *("thermomechanical", "thermomechanically", "plate", "plates", "sheet", "strip", "section", "sections", "profile"),
    *("tube", "pipe", "hollow", "bar", "en", "din", "iso", "grade", "class", "quality"),
}


def said_families(material: str) -> frozenset[str]:
    """Everything that a name says a material is: families, or another metal; empty where it says nothing.

    Steel is said by a grade, or by a name all of whose words are known of steel; the others by one mark.

    >>> sorted(said_families("Al 6082 (S355 equivalent)")), sorted(said_families("steel bronze"))
    (['aluminium', 'steel'], ['another metal'])
    """
    words = _words(material)
    said = {name for name, marks in _MARKS.items() if re.search(rf"(?<![\w.])(?:{marks})(?!\w|\.\d)", words)}
    return frozenset(said or ([_STEEL] if _is_steel(words) else []))


def material_family(material: str) -> Family | None:
    """Material that a curve must have been found on, for a name as it is written; None where it says none, or two.

    >>> [material_family(name) for name in ("Aluminium-Alloy", "S355 J2", "EN AW-6082", "bronze", "304 steel")]
    ['aluminium', 'steel', 'aluminium', None, 'austenitic steel']
    >>> [material_family(name) for name in ("aluminium-killed steel", "not steel", "Ti S700")]
    ['steel', None, None]
    """
    said = said_families(material)
    if said == {_STEEL} and not _is_steel(_words(material)):  # a grade among words that may say anything
        return None
    return next((family for family in get_args(Family) if said == {family}), None)


def guard_family(material: str, family: Family) -> None:
    """InputError at material_family where a name says another metal than the family."""
    others = said_families(material) - {family}
    if others:
        text = f"the name {material!r} says {' and '.join(sorted(others))}, the family given is {family}"
        raise InputError(f"{text}: name the material by what it is alone", "material_family")


def _words(material: str) -> str:
    """A name in small letters, its words apart; of killed steel without the metal that it is killed with."""
    lowered = unicodedata.normalize("NFKC", material).lower()
    plain = re.sub(r"\b(?:alumini?um|al)[\s-]+killed\b", "killed", lowered)
    words = " ".join(re.sub(r"[^\w./]+|_|[./](?!\d)", " ", plain).split())
    return re.sub(r"\b([sp]) (?=\d{3})", r"\1", words)


def _is_steel(words: str) -> bool:
    each = words.split()
    known = (word in _WORDS or _WORD.fullmatch(word) or _ANCHOR.fullmatch(word) for word in each)
    return all(known) and any(_ANCHOR.fullmatch(word) for word in each)
