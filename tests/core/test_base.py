"""The base of the core: errors with paths, guards, findings, registers, tables, verification cases."""

from __future__ import annotations

import json
from dataclasses import dataclass

import numpy as np
import pytest

from fatcore import _resources, quantities, require, sources, tables
from fatcore.errors import InputError, UnknownError, at
from fatcore.findings import Finding, Limit, caution, merge, note, outside, outside_limits
from fatcore.outcome import Outcome, evidence
from fatcore.verification import case as published
from fatcore.verification.case import VerificationCase


def test_errors_gather_their_path_from_inside_out() -> None:
    with (
        pytest.raises(UnknownError, match="unknown curve 'x'; known: a, b") as caught,
        at("lines", 2),
        at("mesh"),
    ):
        raise UnknownError("curve", "x", ["b", "a"], "curve")
    assert caught.value.path == ("lines", 2, "mesh", "curve")
    many = UnknownError("curve", "x", [str(number) for number in range(20)])
    assert many.message.endswith("...")


@pytest.mark.parametrize(
    ("value", "low", "high", "flags", "ok"),
    [
        (1.0, 1.0, 2.0, {}, True),
        (1.0, 1.0, 2.0, {"open_low": True}, False),
        (2.0, 1.0, 2.0, {"open_high": True}, False),
        (2.0, 1.0, 2.0, {}, True),
        (2.1, 1.0, 2.0, {}, False),
        (np.nan, 1.0, 2.0, {}, False),
    ],
)
def test_within(value: float, low: float, high: float, flags: dict[str, bool], ok: bool) -> None:
    if ok:
        assert require.within("x", value, low, high, **flags) == value
    else:
        with pytest.raises(InputError, match="x must"):
            require.within("x", value, low, high, **flags)


def test_columns_of_one_length() -> None:
    assert require.one_length(a=[1.0, 2.0], b=[3.0, 4.0]) == 2
    assert require.one_length() == 0
    for columns in ({"a": [1.0], "b": []}, {"a": [1.0], "b": [1.0, 2.0]}, {"a": [1.0], "b": 3.0}):
        with pytest.raises(InputError) as caught:
            require.one_length(**columns)
        assert caught.value.path == ("b",)


@pytest.mark.parametrize(("low", "high", "text"), [(1.0, 2.0, "1 to 2"), (1.0, None, "from 1"), (None, 2.0, "up to 2")])
def test_limits_tell_the_worst_value_and_how_many(low: float | None, high: float | None, text: str) -> None:
    limit = Limit("thickness_mm", low, high, "iiw-2016", "clause")
    values = [1.0, 1.5, 2.0, *([0.5, -1.0] if low is not None else []), *([9.0] if high is not None else [])]
    (found,) = outside_limits([limit, Limit("other", 0.0, 1.0, "iiw-2016", "")], thickness_mm=values)
    assert text in found.message
    assert found.count == (2 if low is not None else 0) + (1 if high is not None else 0)
    assert found.value == (9.0 if high is not None else -1.0)
    assert limit.finding([1.5, 2.0] if low is not None else [1.0]) is None
    assert Limit("x", 0.0, None, "iiw-2016", "").finding([np.inf]) is None


def test_findings_merge_and_outcomes_gather() -> None:
    one, other = note("a", "text"), outside("b", "text")
    assert merge([one, other, one])[0].count == 2
    part = Outcome(findings=(one,), sources=("iiw-2016",), tables=("curves/iiw_2016",))
    gathered = evidence(part, part, findings=[other], sources=["iiw-2016", "hse-1995"])
    assert [finding.count for finding in gathered["findings"]] == [2, 1]
    assert gathered["sources"] == ("iiw-2016", "hse-1995")
    assert gathered["tables"] == ("curves/iiw_2016",)


def test_registers_know_what_they_hold() -> None:
    assert sources.source("iiw-2016").status == "from memory"
    assert quantities.quantity("element_size_mm").unit == "mm"
    for unknown in (sources.source, quantities.quantity):
        with pytest.raises(UnknownError):
            unknown("nothing")
    with pytest.raises(UnknownError):
        tables.load("curves/nothing")


def test_a_double_or_headless_entry_stops_the_core(monkeypatch: pytest.MonkeyPatch) -> None:
    entry = {"citation": "somewhere", "status": "read"}
    monkeypatch.setattr(_resources, "names", lambda _: ("one.toml", "two.toml"))
    monkeypatch.setattr(_resources, "read_toml", lambda _: {"key": entry})
    with pytest.raises(RuntimeError, match="twice"):
        sources.all_sources.__wrapped__()
    monkeypatch.setattr(_resources, "read_toml", lambda _: {"name": ["meaning", "mm"]})
    with pytest.raises(RuntimeError, match="twice"):
        quantities.all_quantities.__wrapped__()
    monkeypatch.setattr(_resources, "names", lambda _: ("curves/one.toml",))
    with pytest.raises(RuntimeError, match="no revision"):
        tables.load("curves/one")


def test_printed_digits() -> None:
    assert published.half_last_digit("0.0010") == 5e-5
    assert published.half_last_digit("5.21e-13") == pytest.approx(5e-16)
    check = VerificationCase(
        id="x", title="", source="iiw-2016", where="", status="read", expected="0.74", compute=lambda: 0.7449
    )
    (result,) = published.run([check])
    assert result.passed
    assert result.tolerance == pytest.approx(0.005)
    (missed,) = published.run([VerificationCase(**{**_fields(check), "compute": lambda: 0.7451})])
    assert not missed.passed


def _fields(check: VerificationCase) -> dict[str, object]:
    return {name: getattr(check, name) for name in check.__dataclass_fields__}


def test_an_outcome_is_plain_data_and_columns_in_one_call() -> None:
    line = np.array([1.0, 2.0, np.inf])

    @dataclass(frozen=True, slots=True, kw_only=True, eq=False)
    class Small(Outcome):
        life_cycles: np.ndarray
        utilisation: np.ndarray
        governing: np.ndarray
        part: Finding

    outcome = Small(
        life_cycles=line,
        utilisation=line[::-1],
        governing=line[:1],
        part=note("n", "m"),
        findings=(caution("c", "doubtful"),),
    )
    found = outcome.to_dict()
    assert json.loads(json.dumps(found)) == found
    assert found["life_cycles"] == [1.0, 2.0, None]
    assert found["part"]["code"] == "n"
    assert found["findings"][0]["severity"] == "caution"
    assert list(outcome.columns()) == ["life_cycles", "utilisation"]
    assert Outcome().columns() == {}
