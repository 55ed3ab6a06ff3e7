"""What of a loading comes from files, as the map has it."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from fatcore.bounds import Number, Positive

from ..base.common import Strict
from ..topics.check.lines import MAX_CASES
from ..topics.check.models import MAX_SAMPLES
from ..topics.described import Described
from .map import Column


class HistoryFile(Strict):
    """Histories of one file, CSV with a line of names or NPY, sampled together.

    file           : its path, relative to the folder of the map
    columns        : column of each load case, by name or by number from 1
    factors        : what the column of a load case is multiplied by to count unit loads; 1 when left out
    sample_rate_hz : samples a second; the same in files beside each other
    """

    file: Column
    columns: dict[str, Annotated[int, Field(ge=1)] | Column] = Field(min_length=1, max_length=MAX_CASES)
    factors: dict[str, Number] = Field(default_factory=dict)
    sample_rate_hz: Positive | None = None


class HistoryBlock(Described, HistoryFile):
    """One stretch of the record; the next one follows when its passes are over.

    file           : path of CSV (.csv, .txt) with a line of names or of NPY, relative to the folder of the map
    columns        : column of each load case, by name or by number from 1
    factors        : what the column of a load case is multiplied by to count unit loads; 1 when left out
    sample_rate_hz : samples a second; the same in files beside each other
    name, description : for a reader, repeated in the answer and the report

    repeats : times this stretch is gone through within one repeat of the loading
    beside  : further files, sampled at the same times, with the columns of other load cases
    """

    repeats: Annotated[int, Field(ge=1, le=MAX_SAMPLES)] = 1
    beside: list[HistoryFile] = Field(default_factory=list, max_length=MAX_CASES)


class FileHistories(Strict):
    """What of a loading comes from files.

    history    : the stretches of the record, in order
    not_loaded : load cases of the lines that no history loads, on purpose
    """

    history: list[HistoryBlock] = Field(min_length=1, max_length=1_000)
    not_loaded: list[Column] = Field(default_factory=list)
