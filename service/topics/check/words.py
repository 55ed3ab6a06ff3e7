"""Names and descriptions of a check: what the request says for a reader, and what the answer repeats of it."""

from __future__ import annotations

from collections.abc import Sequence

from fatcore.errors import InputError, did_you_mean

from ..described import Described
from .models import BlocksLoadingInput, CheckDescriptions, CheckRequest, HistoryLoadingInput


def described_parts(request: CheckRequest) -> Sequence[Described]:
    """The blocks of the loading, or the stretches of a history."""
    loading = request.loading
    if isinstance(loading, HistoryLoadingInput):
        return loading.stretches
    return loading.blocks if isinstance(loading, BlocksLoadingInput) else [loading]


def guard_loaded_cases(request: CheckRequest) -> None:
    """InputError for a load case that is loaded and that no line has: it is the loading that has it wrong."""
    known = _known_cases(request)
    loading = request.loading
    named: list[tuple[str | int, ...]] = []
    if isinstance(loading, HistoryLoadingInput):
        named += [("channels", name) for name in loading.channels]
    elif isinstance(loading, BlocksLoadingInput):
        named += [("blocks", at, "factors", name) for at, block in enumerate(loading.blocks) for name in block.factors]
    else:
        named += [("factors", name) for name in loading.factors]
    for place in named:
        _guard_case(str(place[-1]), known, "loading", *place)


def _known_cases(request: CheckRequest) -> set[str]:
    return {case for line in request.lines for case in line.cases}


def _guard_case(case: str, known: set[str], *path: str | int) -> None:
    if case not in known:
        raise InputError(f"no line has the load case {case!r}{did_you_mean(case, sorted(known))}", *path)


def descriptions_of(request: CheckRequest) -> CheckDescriptions | None:
    """All words of the request, None where it has none; InputError for a load case that no line has."""
    known = _known_cases(request)
    for case in request.load_cases:
        _guard_case(case, known, "load_cases", case)
    parts = [Described(name=part.name, description=part.description) for part in described_parts(request)]
    if not any(part.name or part.description for part in parts):
        parts = []
    material = request.material.description
    own = {line.name: line.material.description for line in request.lines if line.material is not None}
    told = {name: words for name, words in own.items() if words is not None}
    if not (parts or material or told or request.load_cases):
        return None
    return CheckDescriptions(material=material, line_materials=told, load_cases=request.load_cases, blocks=parts)
