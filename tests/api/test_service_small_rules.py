"""Single rules of the service: units by their definitions, columns of an answer, lines as they come."""

from __future__ import annotations

import io
import sys

import httpx
import pytest

from fatcore.errors import InputError
from service.base.units import LENGTH_TO_MM, STRESS_TO_MPA, guard_length_factor
from service.commands.batch import _print_results
from service.http.answering import _flat_columns

NEWTON_A_POUND, NEWTON_A_KILOGRAM = 4.4482216152605, 9.80665  # exact: international pound, standard gravity
DEFINED = {
    "mpa": 1.0,
    "106pa": 1.0,
    "n/mm2": 1.0,
    "mn/m2": 1e6 / 1e6,
    "pa": 1.0 / 1e6,
    "n/m2": 1.0 / 1e6,
    "hpa": 100.0 / 1e6,
    "kpa": 1000.0 / 1e6,
    "kn/m2": 1000.0 / 1e6,
    "bar": 1e5 / 1e6,
    "kn/cm2": 1000.0 / 100.0,
    "dan/mm2": 10.0,
    "gpa": 1e9 / 1e6,
    "kn/mm2": 1000.0,
    "kgf/mm2": NEWTON_A_KILOGRAM,
    "kg/mm2": NEWTON_A_KILOGRAM,
    "kgf/cm2": NEWTON_A_KILOGRAM / 100.0,
    "kg/cm2": NEWTON_A_KILOGRAM / 100.0,
    "psi": NEWTON_A_POUND / 25.4**2,
    "lbf/in2": NEWTON_A_POUND / 25.4**2,
    "ksi": 1e3 * NEWTON_A_POUND / 25.4**2,
    "mpsi": 1e6 * NEWTON_A_POUND / 25.4**2,
}
LENGTHS = {"mm": 1.0, "cm": 10.0, "dm": 100.0, "m": 1e3, "um": 1e-3, "in": 25.4, "ft": 12 * 25.4, "yd": 36 * 25.4}


def test_units_of_stress_are_those_of_their_definitions() -> None:
    """SI Brochure; the international pound of 0.45359237 kg and the inch of 25.4 mm, exact."""
    assert set(STRESS_TO_MPA) == set(DEFINED)
    for unit, factor in DEFINED.items():
        assert STRESS_TO_MPA[unit] == pytest.approx(factor, rel=1e-7), unit


def test_units_of_length_are_those_of_their_definitions() -> None:
    for unit, factor in LENGTHS.items():
        assert LENGTH_TO_MM[unit] == pytest.approx(factor, rel=1e-12), unit
    assert sorted(set(LENGTH_TO_MM.values())) == pytest.approx(sorted(LENGTHS.values()))


def test_a_column_that_is_called_m_states_no_unit() -> None:
    guard_length_factor("m", 1.0)
    with pytest.raises(InputError):
        guard_length_factor("x m", 1.0)


def test_a_column_of_values_and_objects_is_no_column() -> None:
    answer = {"plain": [1, 2], "mixed": [1, {"a": 2}], "lists": [[1], [2]], "objects": [{"a": 1}, {"a": 2}], "one": 3}
    assert _flat_columns(answer) == {"plain": [1, 2], "objects.a": [1, 2], "one": [3]}


def test_lines_of_a_batch_come_out_one_by_one(monkeypatch: pytest.MonkeyPatch) -> None:
    class Watched(io.TextIOWrapper):
        flushed = 0

        def flush(self) -> None:
            self.flushed += 1

    out = Watched(io.BytesIO())
    monkeypatch.setattr(sys, "stdout", out)
    lines = [b'{"id":1,"status":200,"envelope":{}}\n', b'{"id":2,"status":200,"envelope":{}}\n']
    _print_results([], lambda *_: iter(lines))  # type: ignore[arg-type,return-value]
    assert out.flushed >= len(lines)


def test_options_of_a_page_allow_what_reads_it(client: httpx.Client) -> None:
    for path, allowed in (
        ("/", "GET, HEAD, OPTIONS"),
        ("/v1/check", "OPTIONS, POST"),
        ("/metrics", "GET, HEAD, OPTIONS"),
    ):
        answer = client.options(path)
        assert (answer.status_code, answer.headers["allow"]) == (204, allowed)
