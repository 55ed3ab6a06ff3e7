"""Mappings whose keys are the names of quantities: which names they know, and which are those in other units."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import GetCoreSchemaHandler
from pydantic.fields import FieldInfo
from pydantic_core import CoreSchema, core_schema

from .kinds import Kind, meanings

OF_THE_QUANTITY = ("mean", "median")  # of a random variable: the rest of it has no unit


def meant(key: str, known: Collection[str]) -> tuple[str, Kind, str] | None:
    """Which of the known names a key is in another unit: the name, its quantity, the ending; None where it is none."""
    return None if key in known else next((each for each in meanings(key) if each[0] in known), None)


@dataclass(frozen=True, slots=True)
class KnownNames:
    """Annotation of a mapping: names of quantities that its keys may be. Others are left to those who read it."""

    names: frozenset[str]

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_after_validator_function(self._here, handler(source))

    def _here(self, given: Mapping[str, Any]) -> Mapping[str, Any]:
        """As it is; ValueError for a name in another unit, which is converted before."""
        for key in given:
            if meant(key, self.names) is not None:
                raise ValueError(f"{key} is in another unit than those of the calculation")
        return given


def known_names(field: FieldInfo) -> frozenset[str]:
    """The names that a field has for the keys of its mapping; empty where these are the caller's own."""
    return next((each.names for each in field.metadata if isinstance(each, KnownNames)), frozenset())
