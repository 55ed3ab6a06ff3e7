"""What one repeat of a loading is in service, and lives in its unit: hours, kilometres, seasons."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from fatcore.bounds import Positive

from ..base.common import Strict

_SECONDS = 3600.0  # of an hour


class OneRepeat(Strict):
    """What one repeat of the loading is in service; lives are answered in its unit besides, no number depends on it."""

    value: Positive = Field(description="how many of the unit one repeat is")
    unit: Annotated[str, Field(min_length=1, max_length=40, pattern=r"\S")] = Field(
        description="unit in the plural, like hours, km or seasons"
    )


class ServiceLife(Strict):
    """A life in the unit of one repeat: repeats times what one of them is."""

    value: float | None = Field(description="life in the unit; null when infinite")
    asked: float | None = Field(description="what is asked, in the unit; null where nothing is")
    unit: str


def service_life(one: OneRepeat | None, life: float | None, asked: float | None = None) -> ServiceLife | None:
    """Repeats, those that a part lives and those asked, in the unit of one of them; None where it is not given.

    >>> service_life(OneRepeat(value=2.5, unit="hours"), 1000.0, 400.0)
    ServiceLife(value=2500.0, asked=1000.0, unit='hours')
    """
    if one is None:
        return None
    lived, wanted = (None if repeats is None else repeats * one.value for repeats in (life, asked))
    return ServiceLife(value=lived, asked=wanted, unit=one.unit)


def sampled_hours(seconds: float) -> OneRepeat:
    """One repeat of a record that lasts so many seconds [s]."""
    return OneRepeat(value=seconds / _SECONDS, unit="hours")
