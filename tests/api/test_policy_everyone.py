"""Service, batch, command line, gate, workers and clients obey one policy. Own choice throughout."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest

from service.base.problems import Problem
from service.base.rules.active import active_policy, process_under, under
from service.base.rules.policy import POLICY_HEADER
from service.cli import main, parser
from service.client.client import Client
from service.client.errors import AnswerError
from service.commands.operator import serve
from service.http.app import create_app
from service.http.settings import Settings
from service.jobs import in_order
from service.policy.reading import read_policy

from .conftest import Server
from .policies import EXAMPLES, WORKS

LIFE = {"curve": "works-toe", "stress_range_mpa": [100.0]}
LOOSE = {**LIFE, "survival_probability": 0.5}
CHECK = EXAMPLES / "check/one-toe-constant.json"
TAKES_NO_POLICY = {"compare", "findings", "key", "lines", "validate"}  # calculate nothing of a request


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "policy.toml"
    path.write_text(WORKS, encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[httpx.Client]:
    path = tmp_path_factory.mktemp("served") / "policy.toml"
    path.write_text(WORKS, encoding="utf-8")
    with Server(Settings(policy=str(path))) as url, httpx.Client(base_url=url, timeout=60.0) as connected:
        yield connected


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str]:
    code = main(arguments)
    out, err = capsys.readouterr()
    return code, out + err


def test_the_service_obeys_its_policy_and_every_response_names_it(served: httpx.Client, file: Path) -> None:
    digest = read_policy(file).digest
    answered = served.post("/v1/curves/life", json=LIFE)
    assert answered.json()["record"]["policy"]["digest"] == digest
    refused = served.post("/v1/curves/life", json=LOOSE)
    assert (refused.status_code, refused.json()["type"]) == (422, "urn:toeline:policy")
    assert {answered.headers[POLICY_HEADER], refused.headers[POLICY_HEADER]} == {digest}
    assert served.get("/health/live").headers[POLICY_HEADER] == digest
    assert active_policy() is None


def test_a_batch_over_http_obeys_it_item_by_item(served: httpx.Client) -> None:
    items = [{"id": n, "calculation": "curves/life", "input": data} for n, data in enumerate((LIFE, LOOSE))]
    lines = served.post("/v1/batch", json=items).text.splitlines()
    assert [json.loads(line)["status"] for line in lines] == [200, 422]


def test_a_service_without_a_policy_says_null_and_names_none(client: httpx.Client) -> None:
    response = client.get("/v1/curves/peak-stress-opening/life", params={"stress_range_mpa": 90})
    assert response.json()["record"]["policy"] is None
    assert POLICY_HEADER not in response.headers


def test_a_service_does_not_start_with_a_policy_that_cannot_be_read(tmp_path: Path, file: Path) -> None:
    with pytest.raises(OSError, match="nothing"):
        create_app(Settings(policy=str(tmp_path / "nothing.toml")))
    with pytest.raises(Problem, match="it was changed"):
        create_app(Settings(policy=str(file), policy_digest="sha256:0"))
    with pytest.raises(Problem, match="no policy is named"):
        create_app(Settings(policy_digest="sha256:0"))


def test_settings_name_policy_and_digest() -> None:
    given = Settings.from_environment({"TOELINE_POLICY": "a.toml", "TOELINE_POLICY_DIGEST": "sha256:0"})
    assert (given.policy, given.policy_digest) == ("a.toml", "sha256:0")


@pytest.mark.parametrize("variable", ["TOELINE_POLICY", "TOELINE_POLICY_DIGEST"])
@pytest.mark.parametrize("text", ["", "  "])
def test_an_empty_setting_is_no_way_round_the_policy(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path, variable: str, text: str
) -> None:
    with pytest.raises(ValueError, match=f"{variable} must name"):
        Settings.from_environment({variable: text})
    request = tmp_path / "life.json"
    request.write_text(json.dumps(LOOSE), encoding="utf-8")
    monkeypatch.setenv(variable, text)
    code, out = run(capsys, "calculate", "curves/life", str(request))
    assert code == 2
    assert f"{variable} is empty" in out


def test_a_setting_that_is_none_is_refused_and_those_of_an_orchestrator_are_let_be(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    beside = ("SERVICE_HOST", "SERVICE_PORT", "SERVICE_PORT_HTTP", "PORT", "PORT_8000_TCP_ADDR", "WEB_PORT_80_TCP")
    assert Settings.from_environment({f"TOELINE_{name}": "tcp://1" for name in beside}) == Settings()
    request = tmp_path / "life.json"
    request.write_text(json.dumps(LOOSE), encoding="utf-8")
    for name in ("TOELINE_POLICY_FILE", "TOELINE_POLICIES", "TOELINE_MAX_RUN"):
        with pytest.raises(ValueError, match=f"{name} is no setting"):
            Settings.from_environment({name: "1"})
    monkeypatch.setenv("TOELINE_POLICY_FILE", "works.toml")
    code, out = run(capsys, "calculate", "curves/life", str(request))
    assert code == 2
    assert "TOELINE_POLICY_FILE is no setting" in out


def test_an_empty_option_is_no_way_round_the_policy(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    request = tmp_path / "life.json"
    request.write_text(json.dumps(LOOSE), encoding="utf-8")
    code, out = run(capsys, "calculate", "curves/life", str(request), "--policy", "")
    assert code == 2
    assert "--policy is empty" in out


def test_every_command_that_calculates_takes_a_policy() -> None:
    commands = next(action for action in parser()._actions if action.dest == "command").choices
    assert commands is not None
    without = {
        name
        for name, command in commands.items()  # type: ignore[attr-defined]
        if "--policy" not in {option for action in command._actions for option in action.option_strings}
    }
    assert without == TAKES_NO_POLICY


def test_a_command_obeys_the_file_of_its_option(capsys: pytest.CaptureFixture[str], tmp_path: Path, file: Path) -> None:
    request = tmp_path / "life.json"
    request.write_text(json.dumps(LIFE), encoding="utf-8")
    code, out = run(capsys, "calculate", "curves/life", str(request), "--policy", str(file))
    assert code == 0
    assert json.loads(out)["record"]["policy"]["name"] == "works"
    request.write_text(json.dumps(LOOSE), encoding="utf-8")
    code, out = run(capsys, "calculate", "curves/life", str(request), "--policy", str(file))
    assert code == 2
    assert "rule floors.survival_probability of the policy works 3" in out
    assert active_policy() is None


def test_a_command_obeys_the_file_that_the_environment_names(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path, file: Path
) -> None:
    request = tmp_path / "life.json"
    request.write_text(json.dumps(LIFE), encoding="utf-8")
    monkeypatch.setenv("TOELINE_POLICY", str(file))
    assert run(capsys, "calculate", "curves/life", str(request))[0] == 0
    assert "works-toe" in run(capsys, "curves", "works-toe")[1]
    monkeypatch.setenv("TOELINE_POLICY_DIGEST", "sha256:0")
    code, out = run(capsys, "calculate", "curves/life", str(request))
    assert code == 2
    assert "it was changed" in out
    assert run(capsys, "findings", "own-curve")[0] == 0


def test_a_policy_that_is_none_ends_a_command(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    broken = tmp_path / "broken.toml"
    broken.write_text("name = 'works'", encoding="utf-8")
    code, out = run(capsys, "check", str(CHECK), "--policy", str(broken))
    assert code == 2
    assert "/version" in out
    code, out = run(capsys, "check", str(CHECK), "--policy", str(tmp_path / "none.toml"))
    assert code == 2
    assert "none.toml" in out


def test_a_gate_obeys_it_and_tells_of_the_rule(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    strict = tmp_path / "strict.toml"
    strict.write_text('name = "works"\nversion = "4"\n[allowed]\nelements = ["tet10"]\n', encoding="utf-8")
    baseline = str(tmp_path / "b.json")
    assert run(capsys, "gate", str(CHECK), "--baseline", baseline, "--write-baseline")[0] in (0, 1)
    code, out = run(capsys, "gate", str(CHECK), "--baseline", baseline, "--policy", str(strict))
    assert code == 2
    assert "allowed.elements" in out


def test_the_lines_of_a_batch_obey_it(capsys: pytest.CaptureFixture[str], tmp_path: Path, file: Path) -> None:
    many = tmp_path / "many.ndjson"
    items = [{"id": n, "calculation": "curves/life", "input": LIFE if n else LOOSE} for n in range(4)]
    many.write_text("\n".join(map(json.dumps, items)), encoding="utf-8")
    code, out = run(capsys, "batch", str(many), "--policy", str(file))
    answers = [json.loads(line) for line in out.splitlines() if line.startswith("{")]
    assert code == 1
    assert [each["status"] for each in answers] == [422, 200, 200, 200]
    assert answers[1]["envelope"]["record"]["policy"]["version"] == "3"


def test_a_worker_that_starts_anew_obeys_what_it_is_sent(monkeypatch: pytest.MonkeyPatch, file: Path) -> None:
    held = read_policy(file)
    monkeypatch.setattr(in_order.signal, "signal", lambda *_: None)
    monkeypatch.setattr(in_order, "_end_with_parent", lambda: None)
    with process_under(None):
        in_order.begin_worker(held.maker())
        found = active_policy()
        assert found is not None
        assert found.digest == held.digest
    assert active_policy() is None


def test_serving_hands_the_file_and_its_digest_to_every_worker(monkeypatch: pytest.MonkeyPatch, file: Path) -> None:
    asked: dict[str, Any] = {}
    monkeypatch.setattr("uvicorn.run", lambda app, **options: asked.update(options))
    for variable in ("TOELINE_POLICY", "TOELINE_POLICY_DIGEST"):  # set, so that they are put back
        monkeypatch.setenv(variable, "")
        monkeypatch.delenv(variable)
    assert main(["serve", "--policy", str(file)]) == 0
    assert serve.os.environ["TOELINE_POLICY"] == str(file)
    assert serve.os.environ["TOELINE_POLICY_DIGEST"] == read_policy(file).digest


def test_a_client_that_asks_for_a_policy_takes_no_answer_of_another(served: httpx.Client, file: Path) -> None:
    held = read_policy(file)

    url = str(served.base_url)
    with Client(url, policy_digest=held.digest) as client:
        policy = client.curves_life(LIFE).record.policy
        assert policy is not None
        assert policy.digest == held.digest
    with (
        Client(url, policy_digest="sha256:0") as client,
        pytest.raises(AnswerError, match="obeys the policy sha256"),
    ):
        client.curves_life(LIFE)


def test_a_command_that_asks_a_service_asks_for_its_own_policy(file: Path) -> None:
    from service.commands.remote import connect

    given = parser().parse_args(["batch", "-", "--server", "http://127.0.0.1:1"])
    with under(read_policy(file)), connect(given) as client:
        assert client._policy_digest == read_policy(file).digest


def test_a_report_names_the_policy(served: httpx.Client) -> None:
    data = {"curve": "works-toe", "range_mpa": [60.0], "count": [1e5]}
    page = served.post("/v1/spectrum/damage", json=data, headers={"Accept": "text/html"}).text
    assert "<dt>policy</dt><dd>works 3 <code>sha256:" in page


def test_python_reads_a_policy_and_calculates_under_it(file: Path) -> None:
    import service

    held = service.read_policy(file)
    with service.under(held):
        assert active_policy() is held
    assert active_policy() is None


def test_a_gate_sees_that_the_policy_is_another_one_or_gone(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    first, other = tmp_path / "first.toml", tmp_path / "other.toml"
    first.write_text('name = "works"\nversion = "1"\n', encoding="utf-8")
    other.write_text('name = "works"\nversion = "2"\n', encoding="utf-8")
    gate = ("gate", str(CHECK), "--baseline", str(tmp_path / "b.json"))
    assert run(capsys, *gate, "--policy", str(first), "--write-baseline")[0] == 0
    assert run(capsys, *gate, "--policy", str(first))[0] == 0
    code, out = run(capsys, *gate, "--policy", str(other))
    assert (code, "policy" in out) == (1, True)
    code, out = run(capsys, *gate)
    assert (code, "policy" in out) == (1, True)


def test_the_text_of_a_damage_sum_says_that_its_limit_is_of_the_policy(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, file: Path
) -> None:
    request = tmp_path / "damage.json"
    request.write_text(json.dumps({"curve": "works-toe", "range_mpa": [60.0], "count": [1e5]}), encoding="utf-8")
    assert "0.4, by the policy works 3" in run(capsys, "damage", str(request), "--policy", str(file))[1]
