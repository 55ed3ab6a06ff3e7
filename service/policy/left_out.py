"""What a request leaves out: whatever it does not give, and whatever it gives as null."""

from __future__ import annotations

from pydantic import BaseModel


def left_out(model: BaseModel, *names: str) -> bool:
    """Whether a part of a request gives none of these fields; a null gives nothing."""
    return all(name not in model.model_fields_set or getattr(model, name) is None for name in names)
