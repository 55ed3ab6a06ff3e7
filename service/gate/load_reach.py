"""The loads of a check as a baseline keeps them: how far every load case reaches, and a digest of all."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping

from ..topics.check.models import BlocksLoadingInput, ConstantLoadingInput, HistoryLoadingInput
from .baseline import digest_of_json

AnyLoading = ConstantLoadingInput | BlocksLoadingInput | HistoryLoadingInput


def load_digest(loading: AnyLoading) -> str:
    """Digest of factors with their cycles or of samples; a block that is split in two counts as before."""
    if isinstance(loading, HistoryLoadingInput):
        return digest_of_json(loading.channels)
    cycles: dict[str, float] = {}
    for block in [loading] if isinstance(loading, ConstantLoadingInput) else loading.blocks:
        factors = {name: state.model_dump() for name, state in block.factors.items()}
        text = json.dumps(factors, sort_keys=True)
        cycles[text] = cycles.get(text, 0.0) + block.cycles
    return digest_of_json({text: f"{total:.12g}" for text, total in cycles.items()})


def load_reach(loading: AnyLoading) -> dict[str, str]:
    """Smallest and largest factor of every load case over the whole loading."""
    return {name: f"{min(values):.10g} to {max(values):.10g}" for name, values in _factors(loading).items()}


def load_figures(loading: AnyLoading) -> list[float]:
    """Smallest, largest and mean size of the factors of every load case, by the names of the cases.

    The mean counts each block by its cycles.
    """
    cycles = [1.0]
    if not isinstance(loading, HistoryLoadingInput):
        blocks = [loading] if isinstance(loading, ConstantLoadingInput) else loading.blocks
        cycles = [block.cycles for block in blocks for _ in ("maximum", "minimum")]
    found: list[float] = []
    for _, values in sorted(_factors(loading).items()):
        weights = cycles if len(cycles) == len(values) else [1.0] * len(values)
        total = sum(weight * abs(value) for weight, value in zip(weights, values, strict=True))
        found += [min(values), max(values), float(f"{total / sum(weights):.12g}")]
    return found


def _factors(loading: AnyLoading) -> Mapping[str, list[float]]:
    if isinstance(loading, HistoryLoadingInput):
        return loading.channels
    factors: dict[str, list[float]] = {}
    for block in [loading] if isinstance(loading, ConstantLoadingInput) else loading.blocks:
        for name, state in block.factors.items():
            factors.setdefault(name, []).extend((state.minimum, state.maximum))
    return factors


def changed_reach(before: Mapping[str, str], now: Mapping[str, str]) -> Iterator[tuple[str, str, str]]:
    """Load cases of which the reach changed, with how far each reached and reaches."""
    for name in sorted({*before, *now}):
        old, new = before.get(name, "none"), now.get(name, "none")
        if old != new:
            yield name, old, new


def load_changes(before: Mapping[str, str], now: Mapping[str, str]) -> Iterator[str]:
    """The same in words.

    >>> list(load_changes({"vertical": "0 to 12"}, {"vertical": "0 to 14"}))
    ['vertical 0 to 12 -> 0 to 14']
    """
    yield from (f"{name} {old} -> {new}" for name, old, new in changed_reach(before, now))
