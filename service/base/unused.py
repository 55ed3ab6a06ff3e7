"""Fields of a request that nothing uses: refused, where they say something."""

from __future__ import annotations

from fatcore.errors import InputError

from .common import Strict


def refuse_unused(request: Strict, *names: str, because: str) -> None:
    """Refuses fields that are given another value than their default where nothing uses them."""
    for name in names:
        if getattr(request, name) != type(request).model_fields[name].default:
            raise InputError(f"is not used: {because}", name)
