"""Names and descriptions for a reader: repeated in the answer and the report, no number depends on them."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from fatcore.errors import InputError

from ..base.common import Strict

MOST_DESCRIBED = 10_000

Label = Annotated[str, Field(min_length=1, max_length=100)]
Description = Annotated[str, Field(min_length=1, max_length=500)]


class Described(Strict):
    """Words for a reader, repeated in the answer and the report; no number depends on them."""

    name: Label | None = Field(default=None, description="name for a reader")
    description: Description | None = None


class Descriptions(Strict):
    """What a loading, its blocks in their order, and the material are, in words of the user."""

    load: Described | None = Field(default=None, description="the loading as a whole")
    blocks: list[Described] = Field(default=[], max_length=MOST_DESCRIBED, description="each block, in their order")
    material: Description | None = Field(default=None, description="the material")


def guard_descriptions(given: Descriptions | None, blocks: int | None) -> None:
    """Refuses names of more or fewer blocks than there are; None: the loading has no blocks."""
    if given is None or not given.blocks:
        return
    if blocks is None:
        raise InputError("this loading has no blocks", "descriptions", "blocks")
    if len(given.blocks) != blocks:
        raise InputError(f"{len(given.blocks)} are described, the loading has {blocks}", "descriptions", "blocks")
