"""Kinds of stress as people write them: one word for each, so that they can be compared."""

from __future__ import annotations

import re
import unicodedata

_TAIL = re.compile(r"(-stress(es)?)?(-ranges?)?$")
_ALIKE = {
    "nominal": "normal",
    "nom": "normal",
    "nominal-normal": "normal",
    "nominal-shear": "shear",
    "structural": "hot-spot",
    "structural-hot-spot": "hot-spot",
    "hotspot": "hot-spot",
    "structural-hotspot": "hot-spot",
    "geometric": "hot-spot",
    "geometrical": "hot-spot",
    "peak": "peak-stress",
    "notch": "effective-notch",
    "effective-notch-radius": "effective-notch",
    "notch-shear": "effective-notch-shear",
}


def plain_kind(stress_kind: str) -> str:
    """The kind of stress that is meant, as the catalogue has it; what it does not have in one spelling.

    Hyphens, blanks and dots of any form count alike, with 'stress' behind the kind or without

    >>> [plain_kind(words) for words in ("Nominal stress", "nom.", "structural hot spot stress", "peak\u2011stress")]
    ['normal', 'normal', 'hot-spot', 'peak-stress']
    """
    seen = "".join(each for each in unicodedata.normalize("NFKC", stress_kind) if unicodedata.category(each) != "Cf")
    plain = _TAIL.sub("", re.sub(r"[\W_]+", "-", seen.casefold()).strip("-"))
    return _ALIKE.get(plain, plain)
