"""Choices that relieve a part beyond what any document permits: their bounds and the words about them.

They are `outside` in every calculation that takes them: no number that rests on one says that a part passes.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from fatcore.curves.corrections.correction import Correction
from fatcore.figures import as_given, figure
from fatcore.findings import Finding, outside

LARGEST_DAMAGE_LIMIT = 1.0  # the life of the curve is used up there; no document states more
_LEAST_FACTOR = 1.0  # on loads, and dividing strengths: partial factors of the documents are 1 and more
LEAST_SURVIVAL = 0.5  # the mean line
_LARGEST_OWN_FACTOR = 1.67  # the largest bonus of the documents here: compression counted at 60 %

CLASS_FACTOR = "class factor"  # name of the correction that puts another class in place of that of the curve

# codes of findings without whose relief the part would be worse: what fails with it fails all the more
DAMAGE_LIMIT, SURVIVAL, FACTOR = "damage-limit-above-one", "survival-below-mean-line", "relieving-factor"
NO_PARTIAL_FACTOR, OWN_SURVIVAL = "partial-factor-decides", "own-survival-below-design"
RELIEVING = (DAMAGE_LIMIT, SURVIVAL, FACTOR, NO_PARTIAL_FACTOR, OWN_SURVIVAL)


class Choice(NamedTuple):
    """A choice of the caller that is milder than what the document of the curve states: its field, in words."""

    field: str
    words: str


def factor_findings(**factors: float) -> tuple[Finding, ...]:
    """An `outside` finding for each factor on loads or under strengths that is below 1, by its name."""
    return tuple(
        outside(
            FACTOR,
            f"{name} {as_given(value)} is below 1, which relieves the part: no verdict rests on it, also where the part"
            " would pass without; take 1, and give a smaller load or a stronger curve as such",
            field=name,
        )
        for name, value in factors.items()
        if value < _LEAST_FACTOR
    )


def own_factor_findings(corrections: Sequence[Correction]) -> tuple[Finding, ...]:
    """An `outside` finding where factors of the user's own strengthen more than any bonus of the documents, or
    where one that is called a partial factor strengthens at all."""
    own = [each for each in corrections if each.reason is not None]
    found = []
    for each in own:
        if is_partial_factor(each) and (each.strength_factor > 1.0).any():
            text = (
                f"{each.name} makes strengths {as_given(np.max(each.strength_factor))} times as large: partial factors"
            )
            text += " divide strengths by 1 or more"
            found.append(outside(FACTOR, text, field="corrections", source="own-factor"))
    product = float(np.prod([np.max(each.strength_factor) for each in own]))
    if product > _LARGEST_OWN_FACTOR * (1.0 + 1e-9):
        text = (
            f"own factors multiply strengths by {figure(product)}, more than {as_given(_LARGEST_OWN_FACTOR)}, "
            "the largest"
            " bonus of the documents here; give a curve of your own that was tested so"
        )
        found.append(outside(FACTOR, text, field="corrections", source="own-factor"))
    return tuple(found)


def is_partial_factor(correction: Correction) -> bool:
    """Whether a correction is a partial factor on strength by its name, however that is spelt."""
    name = unicodedata.normalize("NFKC", correction.name).casefold()
    letters = "".join(letter for letter in name if letter.isalpha())
    return "partial" in letters or letters in ("gammamf", "γmf", "gammam", "γm")
