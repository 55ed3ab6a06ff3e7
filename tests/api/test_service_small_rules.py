"""Single rules of the service: units by their definitions, columns of an answer, lines as they come."""

from __future__ import annotations

import io
import json
import re
import sys
from pathlib import Path

import httpx
import pytest

from fatcore.errors import InputError
from service.base.problems import Problem
from service.base.progress import listener, show_progress
from service.base.units import guard_length_factor
from service.cli import main
from service.client.retrying import Retry
from service.commands.batch import _print_results
from service.commands.look_up import _facts
from service.commands.report import _fits
from service.http.batch import AnswerLine
from service.http.forms import _flat_columns, cell_text
from service.http.security import HEADER
from service.http.settings import Settings
from service.topics import registry
from service.topics.check.text import check_text
from service.units.words import LENGTH_TO_MM, STRESS_TO_MPA
from tests.api.conftest import Server

EXAMPLES = Path(__file__).parents[2] / "openapi_examples"


class Watched(io.TextIOWrapper):
    """A stream that counts how often it was asked to show what it holds."""

    flushed = 0

    def flush(self) -> None:
        self.flushed += 1


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
    "kip/in2": 1e3 * NEWTON_A_POUND / 25.4**2,
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
    out = Watched(io.BytesIO())
    monkeypatch.setattr(sys, "stdout", out)
    lines = [AnswerLine(200, b'{"id":1,"status":200,"envelope":{}}\n'), AnswerLine(200, b'{"id":2}\n')]
    _print_results([], lambda *_: iter(lines))
    assert out.flushed >= len(lines)


def test_options_of_a_page_allow_what_reads_it(client: httpx.Client) -> None:
    for path, allowed in (
        ("/", "GET, HEAD, OPTIONS"),
        ("/v1/check", "OPTIONS, POST"),
        ("/metrics", "GET, HEAD, OPTIONS"),
    ):
        answer = client.options(path)
        assert (answer.status_code, answer.headers["allow"]) == (204, allowed)


def test_an_answer_with_exactly_what_a_calculation_needs_fits_it() -> None:
    calculation = registry.find("cracks/fracture")
    assert calculation is not None
    needed = {name for name, field in calculation.request.model_fields.items() if field.is_required()}
    assert _fits(calculation, needed)
    assert not _fits(calculation, needed - {"strength"})
    assert not _fits(calculation, needed | {"colour"})


def test_a_server_that_asks_for_the_longest_wait_gets_it() -> None:
    retry = Retry(attempts=2, first_wait_s=0.5, longest_wait_s=30.0, random=lambda: 0.0)
    assert retry.wait_s(1, "30") == 30.0
    assert retry.wait_s(1, "31") is None


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["gate", "models", "--baseline", "b.json", "--accept", "a"], "needs --because TEXT"),
        (["batch", "crack.json", "--server", "localhost"], "takes an address like"),
    ],
)
def test_what_options_lack_is_said_with_exit_code_2(
    arguments: list[str],
    message: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("models").mkdir()
    for name in ("b.json", "crack.json", "models/m.json"):
        Path(name).write_text("{}")
    assert main(arguments) == 2
    assert message in capsys.readouterr().err


def test_facts_stand_below_each_other() -> None:
    assert _facts({"id": "x", "a_long_name": 2.0, "none": None}) == "id           x\na_long_name  2"


def test_progress_is_shown_at_once() -> None:
    out = Watched(io.BytesIO())
    with show_progress(out, always=True):
        reports = listener(4)
        assert reports is not None
        reports(2)
        drawn = out.flushed
    assert drawn >= 1
    assert out.flushed > drawn


def test_operations_of_the_openapi_document_are_those_of_the_register(client: httpx.Client) -> None:
    """Each calculation: its topic, what stands in path and query, what is needed, and texts where texts belong."""
    document = client.get("/openapi.json").json()
    problem = document["components"]["schemas"]["Problem"]["properties"]
    assert problem["title"]["type"] == problem["detail"]["type"] == "string"
    assert problem["status"]["type"] == "integer"
    for (method, _), calculation in registry.load().items():
        operation = document["paths"][calculation.path][method.lower()]
        assert operation["tags"] in ([calculation.topic], ["meta"])
        assert operation["summary"] == calculation.summary
        assert all(isinstance(each["description"], str) for each in operation["responses"].values())
        parameters = {each["name"]: each for each in operation.get("parameters", [])}
        assert {"only", "accept_outside"} <= set(parameters) or method == "POST"
        fields = calculation.request.model_fields
        for name, each in parameters.items():
            in_path = "{" + name + "}" in calculation.path
            assert each["in"] == ("path" if in_path else "query")
            needed = name in fields and fields[name].is_required()
            assert each["required"] is (in_path or needed)
            assert isinstance(each["description"], str) or name in fields


def test_a_key_in_the_address_is_asked_for_by_name_only() -> None:
    assert Settings().allow_query_key is False


def test_any_of_several_keys_opens_the_service() -> None:
    with Server(Settings(api_keys=("one", "two"))) as url:
        answers = {
            key: httpx.get(f"{url}/v1/sources", headers={HEADER: key}).status_code for key in ("one", "two", "three")
        }
    assert answers == {"one": 200, "two": 200, "three": 401}


def test_an_index_behind_the_last_one_is_no_value() -> None:
    envelope = {"answer": {"life_cycles": [1.0, 2.0]}, "findings": []}
    assert cell_text(envelope, "answer.life_cycles.1") == "2.0"
    with pytest.raises(Problem, match="has no"):
        cell_text(envelope, "answer.life_cycles.2")


def test_the_text_of_a_check_counts_the_findings_that_it_leaves_out(client: httpx.Client) -> None:
    request = json.loads((EXAMPLES / "check" / "bracket-hanger.json").read_text("utf-8"))["request"]
    envelope = client.post("/v1/check", json=request).json()
    short, full = check_text(envelope), check_text(envelope, every_finding=True)
    assert "not shown of the other lines" not in full
    (words,) = re.findall(r"not shown of the other lines: (.*) \(--findings\)", short)
    hidden = re.findall(r"(\d+) (?:caution|note)", words)
    lines = {None, envelope["answer"]["governing"]["line"], *envelope["answer"]["deciding_lines"]}
    left = [f for f in envelope["findings"] if f["line"] not in lines and f["severity"] != "outside"]
    assert sum(map(int, hidden)) == len(left) > 0


def test_the_material_is_looked_at_when_any_line_needs_its_radius(client: httpx.Client) -> None:
    peak = {
        "name": "toe",
        "notch": {"kind": "toe", "opening_angle_deg": 135.0, "notch_size_mm": 5.0},
        "mesh": {"element": "quad4", "element_size_mm": 1.0},
        "position_mm": [0.0],
        "node_id": [7],
        "cases": {"pull": {"peaks_mpa": {"opening": [100.0]}}},
    }
    plain = {"name": "seam", "basis": "nominal", "position_mm": [0.0], "cases": {"pull": {"normal_mpa": [10.0]}}}
    body = {
        "lines": [peak, plain],
        "material": {"name": "my steel", "control_radius_mm": 0.28},
        "curves": {"rule": "fixed", "curve": "peak-stress-opening"},
        "loading": {"kind": "constant", "cycles": 1e5, "factors": {"pull": {"maximum": 1.0, "minimum": 0.0}}},
    }
    found = client.post("/v1/check", json=body).json()
    assert "answer" in found, found
    assert "control-radius-not-used" not in {finding["code"] for finding in found["findings"]}
    assert found["answer"]["governing"]["node_id"] == 7
