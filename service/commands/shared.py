"""What the commands share: exit codes, reading of files, evaluation by the service's own path."""

from __future__ import annotations

import codecs
import errno
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any, TextIO

from fatcore.errors import FatcoreError, UnknownError

from ..base import progress
from ..base.common import Calculation
from ..base.envelope import Evaluation, evaluate
from ..base.forms.printable import for_terminal, inert_json
from ..base.parsing import MAX_BODY_BYTES, request_in
from ..base.problems import Problem, from_core
from ..base.rules.words import policy_lines
from ..files.writing import replace_file
from ..mesh.files import read_mesh_file
from ..mesh.raw import RawMesh
from ..topics.registry import find, load


def read_bytes(path: str) -> bytes:
    """Content of a file, or of standard input for '-'."""
    return sys.stdin.buffer.read() if path == "-" else Path(path).read_bytes()


def name_of(path: str) -> str:
    """What a file is called in what is said of it."""
    return "standard input" if path == "-" else path


def read_request(path: str, calculation: str) -> Any:
    """The request of a calculation in a file, which may be an example that holds it."""
    return request_in(read_bytes(path), calculation, name_of(path))


@contextmanager
def about(path: str, *, table: str | None = None, mesh: str | None = None) -> Iterator[None]:
    """Refusals name the file they are about: the one at the path, which pointers lead into.

    table, mesh : files that are meant where that part alone is at fault
    """
    try:
        yield
    except FatcoreError as error:
        raise _about(from_core(error), path, {"/table": table, "/mesh": mesh}) from error
    except Problem as problem:
        raise _about(problem, path, {"/table": table, "/mesh": mesh}) from problem


def _about(problem: Problem, path: str, parts: Mapping[str, str | None]) -> Problem:
    """The problem with the name of the file in place of the pointer to a part, or before it."""
    pointers = {pointer for pointer, _ in problem.errors}
    part = parts.get(pointers.pop()) if len(pointers) == 1 else None
    name = name_of(part or path)
    text = problem.detail if part else "\n".join(problem.lines())
    named = text if Path(name).name in text else f"{name}: {text}"
    return Problem(problem.status, named, kind=problem.kind, title=problem.title)


def mesh_in(path: str) -> RawMesh:
    """The mesh in a file; Problem that names the file when it cannot be read."""
    with about(path, mesh=path):
        return read_mesh_file(path)


def reader_beside(path: str, guard: Callable[[Sequence[Path]], None]) -> Callable[[str], bytes]:
    """Reader of files whose paths are relative to the folder of another file; '-' stands in the current one.

    guard : refuses a file before it is read
    """
    folder = Path() if path == "-" else Path(path).parent

    def read(name: str) -> bytes:
        found = folder / name
        guard([found])
        if found.stat().st_size > MAX_BODY_BYTES:
            raise Problem(413, f"{found.stat().st_size} bytes are more than the {MAX_BODY_BYTES} taken at once")
        return found.read_bytes()

    return read


def text_in(content: bytes, name: str) -> str:
    """The text of a file: UTF-8, or UTF-16 that says so by its first bytes.

    Raises : Problem for anything else, since a guess could change a name or a number
    """
    wide = content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE))
    try:
        return content.decode("utf-16" if wide else "utf-8-sig")
    except UnicodeDecodeError as error:
        raise Problem(400, f"{name} is not UTF-8 text (byte {error.start}): save it as UTF-8") from error


def calculate(name: str, data: Any) -> Evaluation:
    """The request and the answer of a calculation, the same as the service gives."""
    calculation = find(name)
    if calculation is None:
        raise _no_calculation(name)
    with progress.show_progress():
        try:
            return evaluate(calculation, data)
        except Problem:
            other = _meant(calculation, data)
            if other is None:
                raise
            raise Problem(422, f"the keys are those of a request of {other}, not of {name}") from None


def _no_calculation(name: str) -> Problem:
    if find(name, "GET") is not None:
        return Problem(404, f"{name} takes no file: the service answers it to GET")
    names = [known for method, known in load() if method == "POST"]
    return from_core(UnknownError("calculation", name, names))


def _meant(asked: Calculation, data: Any) -> str | None:
    """The only other calculation whose request has all the keys of the data, where the one that is asked has not."""
    if not isinstance(data, Mapping) or _fits(asked, data):
        return None
    fitting = [each.name for (method, _), each in load().items() if method == "POST" and _fits(each, data)]
    return fitting[0] if len(fitting) == 1 else None


def _fits(calculation: Calculation, data: Mapping[str, Any]) -> bool:
    fields = calculation.request.model_fields
    needed = {name for name, field in fields.items() if field.is_required()}
    return bool(needed) and needed <= set(data) <= set(fields)


def write_bytes(content: bytes, path: str | None) -> None:
    """Writes an answer to a file, whole or not at all, or to standard output with a newline."""
    if path:
        replace_file(Path(path), content)
        return
    write_line(content + b"\n")


def write_line(content: bytes) -> None:
    """Writes JSON, or a page, to standard output; a name in JSON gives no command to a terminal or a pipeline."""
    json_begins = content[:1] in {b"{", b"["}
    out = standard_output()
    out.buffer.write(inert_json(content.decode()).encode() if json_begins else content)
    out.flush()


def write_answer(text: str, envelope: Mapping[str, Any]) -> None:
    """Writes an answer as text, with the rules of the company that it obeys last."""
    write_text("\n".join([text.rstrip("\n"), *policy_lines(envelope["record"]["policy"])]))


def write_text(text: str) -> None:
    """Writes text for a person to standard output."""
    standard_output().write(for_terminal(text.rstrip("\n")) + "\n")


def standard_output() -> TextIO:
    """Where results are printed; OSError where who called has closed it."""
    if sys.stdout is None:
        raise OSError(errno.EBADF, "standard output is closed")
    return sys.stdout
