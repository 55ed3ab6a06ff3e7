"""Loading by file: the histories that a map names, read and put into its check request."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import PurePath
from typing import Any, Generic, TypeVar

import numpy as np
from pydantic import ValidationError

from fatcore.require import FloatArray

from ..base.parsing import MAX_VALUES
from ..base.problems import Problem, from_validation, pointer
from ..base.text import number
from ..topics.check.models import MAX_SAMPLES, Stretch
from ..topics.described import Described
from ..topics.spectrum.sample_csv import read_csv
from ..topics.spectrum.sample_tables import checked, read_npy
from .history_models import FileHistories, HistoryBlock, HistoryFile
from .map import RequestMap

LONGEST_PATH = 100  # of a path the end says most
READERS = {".npy": read_npy, ".csv": read_csv, ".txt": read_csv}
WHERE: tuple[str | int, ...] = ("request", "loading", "history")

Path = tuple[str | int, ...]
Read = Callable[[str], bytes]
Map = TypeVar("Map", bound=RequestMap)


@dataclass(frozen=True, slots=True, kw_only=True)
class Loaded(Generic[Map]):
    """A map whose loading holds its samples; words: what was read, for a person."""

    map: Map
    words: tuple[str, ...] = ()
    cases: frozenset[str] | None = None  # loaded, or said not to be; None where the loading names no file

    @contextmanager
    def pointing(self) -> Iterator[None]:
        """Problems of channels that come from files point at the histories, which the map has in their place."""
        try:
            yield
        except Problem as problem:
            channels, histories = pointer([*WHERE[:2], "channels"]), pointer(WHERE)
            moved = self.cases is not None
            errors = [(histories if moved and w.startswith(channels) else w, text) for w, text in problem.errors]
            raise Problem(problem.status, problem.detail, errors, kind=problem.kind) from problem

    def guard_cases(self, lines: Sequence[Mapping[str, Any]]) -> None:
        """Problem 422 for a load case of the lines that no history loads, unless the map says so."""
        if self.cases is None:
            return
        left = sorted({case for line in lines for case in line["cases"]} - self.cases)
        if left:
            text = f"no history loads {', '.join(left)}: give it a column, or name it in `not_loaded`"
            raise _problem(WHERE, text)


def load_histories(given_map: Map, read: Read) -> Loaded[Map]:
    """The map with the channels of the files that `request.loading.history` names.

    read   : content of a file by its path as the map gives it
    Raises : Problem whose pointers refer to the map
    """
    loading = given_map.request.get("loading")
    if not isinstance(loading, dict) or "history" not in loading:
        return Loaded(map=given_map)
    if loading.get("kind") != "history":
        raise _problem((*WHERE[:2], "kind"), 'histories from files need kind = "history"')
    for name in ("channels", "stretches"):
        if name in loading:
            raise _problem((*WHERE[:2], name), "this comes from the files")
    given = _validated(loading)
    stretches = _stretches(given.history, loading, read)
    channels = _joined(given.history, stretches)
    _guard_not_loaded(given.not_loaded, channels)
    made = {
        **{name: value for name, value in loading.items() if name not in FileHistories.model_fields},
        **_passes(given.history, loading),
        "stretches": [_told(*pair, len(stretches) > 1) for pair in zip(given.history, stretches, strict=True)],
        "channels": {case: row.tolist() for case, row in channels.items()},
    }
    return Loaded(
        map=given_map.model_copy(update={"request": {**given_map.request, "loading": made}}),
        words=tuple(_words(*pair) for pair in zip(given.history, stretches, strict=True)),
        cases=frozenset([*channels, *given.not_loaded]),
    )


def _problem(where: Path, message: str, status: int = 422) -> Problem:
    return Problem(status, message, [(pointer(where), message)])


def _validated(loading: Mapping[str, Any]) -> FileHistories:
    given = loading["history"]
    named = {name: loading[name] for name in FileHistories.model_fields if name in loading}
    data = {**named, "history": given if isinstance(given, list) else [given]}
    try:
        return FileHistories.model_validate(data)
    except ValidationError as error:
        problem = from_validation(error, data, FileHistories)
        single = "" if isinstance(given, list) else "/history/0"
        moved = [(pointer(WHERE[:2]) + _unnumbered(at, single), words) for at, words in problem.errors]
        raise Problem(problem.status, problem.detail, moved) from error


def _unnumbered(where: str, single: str) -> str:
    return "/history" + where.removeprefix(single) if single and where.startswith(single) else where


def _path(loading: Mapping[str, Any], index: int) -> Path:
    return (*WHERE, index) if isinstance(loading["history"], list) else WHERE


def _stretch(block: HistoryBlock, where: Path, read: Read) -> dict[str, FloatArray]:
    """Histories of one stretch by load case: those of its file and of the files beside it."""
    channels = _file(block, where, read)
    samples = len(next(iter(channels.values())))
    for index, file in enumerate(block.beside):
        inside = (*where, "beside", index)
        further = _file(file, inside, read)
        twice = sorted(set(channels) & set(further))
        if twice:
            raise _problem((*inside, "columns", twice[0]), f"the load case {twice[0]!r} has a column already")
        if file.sample_rate_hz != block.sample_rate_hz:
            text = f"{file.file} is sampled at another rate than {block.file}, or one of them is not stated"
            raise _problem((*inside, "sample_rate_hz"), text)
        size = len(next(iter(further.values())))
        if size != samples:
            raise _problem((*inside, "file"), f"{file.file} has {size} samples, {block.file} has {samples}")
        channels |= further
    return channels


def _file(file: HistoryFile, where: Path, read: Read) -> dict[str, FloatArray]:
    reader = READERS.get(PurePath(file.file).suffix.lower())
    if reader is None:
        raise _problem((*where, "file"), f"{file.file} is neither CSV (.csv, .txt) nor an array (.npy)")
    with _about(file.file, (*where, "file")):
        table = reader(_content(file.file, read))
    found: dict[str, FloatArray] = {}
    used: dict[int, str] = {}
    for case, column in file.columns.items():
        inside = (*where, "columns", case)
        with _about(file.file, inside):
            index = table.index(str(column))
            row = checked(table.rows[[index]], [str(column)])[0]
        if index in used:
            raise _problem(inside, f"column {column!r} stands for the load case {used[index]!r} already")
        used[index] = case
        found[case] = row * _factor(file, case, where)
    _guard_samples(file, found, where)
    return found


def _content(name: str, read: Read) -> bytes:
    try:
        return read(name)
    except OSError as error:
        raise Problem(422, str(error.strerror or error)) from error


@contextmanager
def _about(name: str, where: Path) -> Iterator[None]:
    """Problems of a file with its name and its place in the map."""
    try:
        yield
    except Problem as problem:
        raise _problem(where, f"{name}: {problem.detail}", problem.status) from problem


def _factor(file: HistoryFile, case: str, where: Path) -> float:
    spare = sorted(set(file.factors) - set(file.columns))
    if spare:
        raise _problem((*where, "factors", spare[0]), f"the load case {spare[0]!r} has no column in this file")
    factor = file.factors.get(case, 1.0)
    if factor == 0.0:
        raise _problem((*where, "factors", case), "a factor of 0 takes the load case away: leave its column out")
    return factor


def _guard_samples(file: HistoryFile, found: Mapping[str, FloatArray], where: Path) -> None:
    size = len(next(iter(found.values())))
    if size < 2:
        raise _problem((*where, "file"), f"{file.file} holds one sample: a history has at least two")


def _stretches(blocks: Sequence[HistoryBlock], loading: Mapping[str, Any], read: Read) -> list[dict[str, FloatArray]]:
    """Every stretch, all of them with the same load cases: one that is silent about a case says nothing of it."""
    found: list[dict[str, FloatArray]] = []
    values = 0
    for index, block in enumerate(blocks):
        where = _path(loading, index)
        found.append(_stretch(block, where, read))
        other = sorted(set(found[0]) ^ set(found[-1]))
        if other:
            text = f"the load case {other[0]!r} has a column here or in the first history, not in both"
            raise _problem((*where, "columns"), text)
        samples = len(next(iter(found[-1].values()))) * (block.repeats if len(blocks) > 1 else 1)
        values += samples * len(found[0])
        _guard_size(values, len(found[0]))
    return found


def _guard_size(values: int, cases: int) -> None:
    if values > min(MAX_VALUES, MAX_SAMPLES * cases):
        text = (
            f"the histories make {values // cases} samples or more of {cases} load cases with their repeats;"
            f" a request takes {MAX_SAMPLES} samples and {MAX_VALUES} values"
        )
        raise _problem(WHERE, text, 413)


def _joined(blocks: Sequence[HistoryBlock], stretches: Sequence[Mapping[str, FloatArray]]) -> Mapping[str, FloatArray]:
    """Samples of all stretches one after the other by load case; passes of a single one are those of the loading."""
    if len(stretches) == 1:
        return stretches[0]
    pairs = list(zip(blocks, stretches, strict=True))
    return {
        case: np.concatenate([np.tile(channels[case], block.repeats) for block, channels in pairs])
        for case in stretches[0]
    }


def _passes(blocks: Sequence[HistoryBlock], loading: Mapping[str, Any]) -> dict[str, float]:
    given = loading.get("repeats", 1.0)
    if len(blocks) > 1 or isinstance(given, bool) or not isinstance(given, int | float):
        return {}  # what is no number is refused with the request
    return {"repeats": float(given * blocks[0].repeats)}


def _guard_not_loaded(names: Sequence[str], channels: Mapping[str, FloatArray]) -> None:
    for index, name in enumerate(names):
        if name in channels:
            raise _problem((*WHERE[:2], "not_loaded", index), f"the load case {name!r} has a column")


def _told(block: HistoryBlock, channels: Mapping[str, FloatArray], among_others: bool) -> dict[str, Any]:
    """A stretch as the check request tells of it."""
    samples, names = len(next(iter(channels.values()))), (*Described.model_fields, "sample_rate_hz")
    files = ", ".join(file.file for file in (block, *block.beside))
    again = block.repeats if among_others else 1
    told = Stretch(samples=samples, repeats=again, **{name: getattr(block, name) for name in names})
    return {**told.model_dump(exclude_none=True), "file": files[-LONGEST_PATH:]}


def _words(block: HistoryBlock, channels: Mapping[str, FloatArray]) -> str:
    samples = len(next(iter(channels.values())))
    rate = block.sample_rate_hz
    label = f"{block.name}: " if block.name else ""
    lasting = f", {number(samples / rate)} s at {number(rate)} Hz" if rate else ""
    again = f", {block.repeats} times" if block.repeats > 1 else ""
    files = ", ".join(_columns_words(file) for file in (block, *block.beside))
    return f"{label}{samples} samples{lasting}{again} from {files}"


def _columns_words(file: HistoryFile) -> str:
    given = [
        f"{case} = {column}" + (f" times {number(file.factors[case])}" if case in file.factors else "")
        for case, column in file.columns.items()
    ]
    return f"{file.file} ({', '.join(given)})"
