"""A seeded sample that gives every operator its turn."""

from __future__ import annotations

import random
from collections import defaultdict
from collections.abc import Sequence

from .mutant import Mutant


def chosen(mutants: Sequence[Mutant], count: int, seed: int) -> list[Mutant]:
    """`count` mutants, as many of each operator as there are, in turn; 0 gives all."""
    if count <= 0 or count >= len(mutants):
        return list(mutants)
    left: dict[str, list[Mutant]] = defaultdict(list)
    for mutant in random.Random(seed).sample(list(mutants), len(mutants)):
        left[mutant.operator].append(mutant)
    found: list[Mutant] = []
    while len(found) < count:
        for operator in sorted(left):
            found += [left[operator].pop()] if left[operator] and len(found) < count else []
    return found
