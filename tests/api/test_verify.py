"""toeline verify and compare: what an answer says otherwise when it is calculated again, and why."""

from __future__ import annotations

import json
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import pytest

from fatcore import __version__
from service import cli
from service.comparison.values import differences
from service.reproduce.items import item_change
from service.reproduce.outputs import Changes, name_of_key
from service.reproduce.text import changes_json, changes_text

from .conftest import Run

EXAMPLES = Path(__file__).parents[2] / "openapi_examples"
CHECK = EXAMPLES / "check" / "one-toe-constant.json"
NEEDS_UNITS = pytest.mark.skipif(find_spec("pint") is None, reason="the extra units is not installed")
FRACTIONS = (("stress_range_mpa", 90.0), ("stress_range_gpa", 0.09))


def pair() -> tuple[dict[str, Any], dict[str, Any]]:
    """Request and answer of a check, in their files."""
    data = json.loads(CHECK.read_bytes())
    Path("request.json").write_text(json.dumps(data["request"]))
    assert cli.main(["check", "request.json", "-o", "answer.json"]) in (0, 1)
    return data["request"], json.loads(Path("answer.json").read_bytes())


def test_the_same_answer_is_verified_from_a_pair_in_either_order(run: Run) -> None:
    pair()
    for command in (["request.json", "answer.json"], ["answer.json", "request.json"], [str(CHECK), "answer.json"]):
        code, printed = run("verify", *command)
        assert (code, printed.splitlines()[-1]) == (0, "1 the same, 0 changed")


def test_a_check_writes_a_file_that_is_verified_alone(run: Run) -> None:
    pair()
    assert run("check", "request.json", "-o", "both.json", "--with-request")[0] in (0, 1)
    assert run("verify", "both.json") == (0, "1 the same, 0 changed\n")
    code, printed = run("check", "request.json", "--with-request")
    assert (code, printed) == (2, "toeline: --with-request goes with -o FILE\n")


@pytest.mark.parametrize("name", ["curves/one-curve", "curves/life"])
def test_a_file_with_both_is_verified_alone(run: Run, name: str) -> None:
    assert run("verify", str(EXAMPLES / f"{name}.json"))[0] == 0


def test_what_differs_is_said_with_what_is_known_of_the_cause(run: Run) -> None:
    _, answer = pair()
    answer["answer"]["utilisation"] *= 1.0 + 1e-6
    answer["answer"]["lines"][0]["governing_utilisation"] *= 1.0 + 1e-11  # no more than a processor makes
    answer["answer"]["verdict"] = "fail"
    answer["findings"].append({**answer["findings"][0], "code": "older-finding", "severity": "caution", "line": None})
    answer["findings"] = [each for each in answer["findings"] if each["code"] != answer["findings"][0]["code"]]
    gone = answer["record"]["sources"].pop()
    table = next(iter(answer["record"]["tables"]))
    answer["record"] |= {"version": "0.6.0", "revision": 1, "policy": {"name": "n", "version": "1", "digest": "d"}}
    answer["record"]["tables"] |= {table: "rev 1 sha256:0"}
    Path("answer.json").write_text(json.dumps(answer))
    code, printed = run("verify", "request.json", "answer.json")
    assert code == 1
    for text in (
        "item 'answer.json': verdict fail -> pass, looser\n",
        "  /answer/verdict fail -> pass\n",
        "  /answer/utilisation ",
        "e-6 of the larger)\n",
        "  went: finding caution older-finding\n",
        f"  came: source {gone['key']} ({gone['status']})\n",
        f"  since: version of toeline 0.6.0 -> {__version__}\n",
        "  since: policy d -> none\n",
        "  since: revision of the calculation 1 -> ",
        f"  since: table of figures {table} rev 1 sha256:0 -> rev ",
        "0 the same, 1 changed, 1 with a looser verdict\n",
    ):
        assert text in printed, text
    assert "governing_utilisation" not in printed
    (found,) = json.loads(run("verify", "request.json", "answer.json", "--json")[1])["changed"]
    assert found["direction"] == "looser"
    assert found["differences"][1]["relative"] == pytest.approx(1e-6, rel=1e-3)


def test_another_request_is_a_cause(run: Run) -> None:
    request, _ = pair()
    Path("request.json").write_text(json.dumps({**request, "target": {**request["target"], "damage_limit": 0.4}}))
    code, printed = run("verify", "request.json", "answer.json")
    assert code == 1
    assert "  since: digest of the input with its defaults sha256:" in printed


def batches(run: Run, *requests: dict[str, Any], calculation: str, only: str | None = None) -> None:
    """Input and output of a batch of each request: 0.in and 0.out, 1.in, ..."""
    for number, request in enumerate(requests):
        rows = [{"id": "a", "calculation": calculation, "input": request}]
        rows += [] if only is None else [{**rows[0], "id": "b", "only": only}]
        Path(f"{number}.in").write_text("\n".join(map(json.dumps, rows)))
        run("batch", f"{number}.in", "-o", f"{number}.out")


@NEEDS_UNITS
def test_the_units_in_which_a_request_is_written_change_nothing(run: Run) -> None:
    mpa, gpa = ({"curve": "peak-stress-opening", name: [x]} for name, x in FRACTIONS)
    batches(run, mpa, gpa, calculation="curves/life", only="answer.life_cycles.0")
    for files in (("0.in", "1.out"), ("1.in", "0.out")):
        code, printed = run("verify", *files)
        assert (code, printed.splitlines()[-1]) == (0, "2 the same, 0 changed")


@NEEDS_UNITS
def test_other_units_of_the_answer_are_the_cause(run: Run) -> None:
    plain: dict[str, Any] = {"curve": "iiw-2016-normal-steel-71", "life_cycles": [2e6]}
    batches(run, plain, {**plain, "units": {"stress": "ksi"}}, calculation="curves/strength")
    for files, before, now in (("01", "MPa and mm", "stress in ksi"), ("10", "stress in ksi", "MPa and mm")):
        code, printed = run("verify", f"{files[0]}.out", f"{files[1]}.in")
        assert (code, printed.splitlines()[:2]) == (1, ["item 'a'", f"  /answer in {before} -> in {now}"])
        assert f"  since: units of the answer {before} -> {now}\n" in printed
        assert "no cause is recorded" not in printed
        assert "units-of-answer" not in printed
    assert run("verify", "1.in", "1.out")[0] == 0


def test_a_batch_is_verified_item_by_item(run: Run, base_url: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.syspath_prepend(Path(__file__).parents[2])  # processes find the tree
    curve = {"curve": "peak-stress-opening", "stress_range_mpa": [90.0]}
    rows = [{"id": n, "calculation": "curves/life", "input": curve} for n in range(3)]
    rows += [{"id": 3, "calculation": "curves/life", "input": {}}, {**rows[0], "id": 4, "only": "answer.life_cycles.0"}]
    rows += [{**rows[0], "id": 5, "only": "answer.none"}]
    lines = [json.dumps(row) for row in rows]
    Path("in").write_text("\n".join(lines))
    run("batch", "in", "-o", "out")
    for more in ((), ("--server", base_url), ("--jobs", "2")):
        assert run("verify", "in", "out", *more) == (0, "6 the same, 0 changed\n")
    out = Path("out").read_text()
    value = json.loads(out.splitlines()[4])["value"]
    Path("out").write_text(out.replace(f'"value":"{value}"', f'"value":"{float(value) * 1.1}"'))
    Path("in").write_text("\n".join([lines[0], lines[1].replace("90.0", "91.0"), *lines[2:], lines[0]]))
    code, printed = run("verify", "in", "out")
    assert code == 1
    assert "item 1\n  /answer/life_cycles/0 " in printed
    assert "  since: digest of the item sha256:" in printed
    assert "item 4\n  /value " in printed
    assert "  since: the line does not fit its digest: it was edited\n" in printed
    assert "without an answer of before: item 0\n" in printed
    assert printed.endswith("4 the same, 2 changed, 1 without an answer of before\n")
    Path("in").write_text("\n".join(["{", *lines[1:]]))
    assert "  /id 0 -> None\n" in run("verify", "out", "in")[1]
    Path("in").write_text(lines[0])
    assert run("verify", "in", "out") == (2, "toeline: out has 6 lines for 1 items\n")


def test_a_baseline_is_verified_against_its_check_files(run: Run) -> None:
    Path("checks").mkdir()
    data = json.loads(CHECK.read_bytes())["request"]
    for name in "abcd":
        Path(f"checks/{name}.json").write_text(json.dumps({**data, "title": name}))
    run("gate", "checks", "--baseline", "checks/accepted.json", "--write-baseline")
    assert run("verify", "checks/accepted.json") == (0, "4 the same, 0 changed\n")
    from service.gate.baseline import seal

    stored = json.loads(Path("checks/accepted.json").read_text())
    (name,) = stored["checks"]["a.json"]["lines"]
    line = stored["checks"]["a.json"]["lines"][name]
    line["utilisation"] /= 1.01
    line["calculation"] = "revision 1 of toeline 0.6.0"
    line["findings"] = ["caution older-finding", *line["findings"]]
    stored["checks"]["d.json"]["findings"] = None
    stored["checks"]["d.json"]["lines"][name]["findings"] = None
    Path("checks/accepted.json").write_text(json.dumps(seal(stored)))
    Path("checks/b.json").write_text("{")
    Path("checks/c.json").unlink()
    code, printed = run("verify", "checks/accepted.json")
    assert code == 1
    for text in (
        f"item a.json\n  /answer/lines/{name}/utilisation ",
        f"  went: finding caution older-finding ({name})\n",
        "  since: version of toeline revision 1 of toeline 0.6.0 -> revision ",
        "item b.json\n",
        "item c.json\n  /status 200 -> 422",
        "its file is gone\n",
        "1 the same, 3 changed\n",
    ):
        assert text in printed, text


def test_another_policy_than_that_of_a_baseline_is_a_cause(run: Run) -> None:
    Path("checks").mkdir()
    Path("checks/a.json").write_text(json.dumps(json.loads(CHECK.read_bytes())["request"]))
    for name, rules in (("one", "[defaults]\nload_factor = 1.1"), ("two", ""), ("strict", "[allowed]\nelements = []")):
        Path(f"{name}.toml").write_text(f"name = '{name}'\nversion = '1'\n{rules}")
    run("gate", "checks", "--baseline", "checks/accepted.json", "--write-baseline", "--policy", "one.toml")
    assert run("verify", "checks/accepted.json", "--policy", "one.toml") == (0, "1 the same, 0 changed\n")
    for policy, words in (
        (["--policy", "two.toml"], "two 1, sha256:"),
        (["--policy", "strict.toml"], "strict 1, "),
        ([], "none\n"),
    ):
        code, printed = run("verify", "checks/accepted.json", *policy)
        assert code == 1
        assert "  since: policy one 1, sha256:" in printed
        assert f" -> {words}" in printed
        assert "no cause is recorded" not in printed


@pytest.mark.parametrize(
    ("files", "text"),
    [
        (["answer"], "an answer holds the digest of its input only: give REQUEST and ANSWER"),
        (["request"], "an answer holds the digest of its input only"),
        (["answer", "list"], "an answer holds the digest of its input only"),
        (["answer", "other"], "the answer is of check, the request of curves/life"),
        (["half"], "half: an answer holds the digest of its input only"),
        (["answer", "request", "list"], "verify takes one file or two"),
        (["none"], "none: No such file or directory"),
        (["items", "cut"], "cut ends within line 2: its run was stopped"),
        (["items", "strange"], "strange, line 2: no line of a batch answer"),
    ],
)
def test_what_cannot_be_verified_is_refused(run: Run, files: list[str], text: str) -> None:
    record = {"calculation": "check", "version": "1", "revision": 1, "input_digest": "d", "tables": {}}
    envelope = {"answer": {}, "findings": [], "record": record}
    contents = {
        "answer": json.dumps(envelope),
        "request": "{}",
        "list": "[]",
        "other": json.dumps({"calculation": "curves/life", "request": {}}),
        "half": json.dumps({"calculation": "check", "request": {}, "response": {}}),
        "items": '{"id":1,"calculation":"a","input":{}}\n{"id":2}',
        "cut": '{"id":1,"status":200,"value":"1"}\n{"id":2',
        "strange": '{"id":1,"status":200,"value":"1"}\n[]\n',
    }
    for name in files:
        if name in contents:
            Path(name).write_text(contents[name])
    code, printed = run("verify", *files)
    assert code == 2
    assert text in printed


def line(item_id: Any, utilisation: float, verdict: str = "pass", **more: Any) -> str:
    answer = {"verdict": verdict, "utilisation": utilisation, "values": [utilisation] * 9}
    record = {"calculation": "none", "version": "1", "revision": 1, "input_digest": "d", "tables": {}}
    envelope = {"answer": answer, "findings": [], "record": record}
    return json.dumps({"id": item_id, "status": 200, "envelope": envelope, "version": "1", **more}) + "\n"


def test_outputs_are_compared_by_their_ids(run: Run) -> None:
    refused = json.dumps({"id": None, "status": 400, "item_digest": "d", "problem": {}}) + "\n"
    old = [line("same", 0.5), line(1, 0.5), line("gone", 0.1), line("looser", 1.1, "fail"), refused, line(1, 0.7)]
    new = [line("looser", 0.9), line("same", 0.5 + 1e-12), line(1, 0.5), line(1, 0.8), refused, line("1", 0.5)]
    new += [line("stricter", 0.1)]
    Path("a").write_text("".join([*old, line("stricter", 0.1, "undecided")]))
    Path("b").write_text("".join(new).replace('"stricter", "status": 200', '"stricter", "status": 200, "x": 1'))
    Path("b").write_text(Path("b").read_text().replace('"version": "1"', '"version": "2"'))
    code, printed = run("compare", "b", "a")
    assert code == 1
    assert "item 'looser': verdict pass -> fail, stricter\n" in printed
    assert "item 1 (the 2. of this id)\n  /answer/utilisation 0.8 -> 0.7" in printed
    assert "  and 5 values more\n" in printed
    assert "added: item 'gone'\nremoved: item '1'\n" in printed
    assert "cause: version of toeline 2 -> 1 (of 5 items)\n" in printed
    assert printed.endswith("3 the same, 3 changed, 2 with a stricter verdict, 1 added, 1 removed\n")
    assert run("compare", "a", "a") == (0, "7 the same, 0 changed\n")
    found = json.loads(run("compare", "a", "b", "--json")[1])
    assert (found["added"], found["removed"], found["same"]) == (["'1'"], ["'gone'"], 3)
    assert {each["item"]: each["direction"] for each in found["changed"]}["'looser'"] == "looser"
    Path("a").write_text("".join(old)[:-3])
    assert run("compare", "a", "b")[0] == 2


def test_long_lists_are_counted() -> None:
    found = Changes(added=[str(n) for n in range(103)])
    for number in range(102):
        found.add(item_change(str(number), {"status": 200, "value": "1"}, {"status": 200, "value": "x"}))
    text = changes_text(found)
    assert "and 2 changed items more\n" in text
    assert "and 3 more added\n" in text
    assert len(json.loads(changes_json(found))["changed"]) == 102
    assert name_of_key((("sha256:1",), 2)) == "without an id, sha256:1 (the 2. of this id)"


@pytest.mark.parametrize(
    ("before", "now", "texts"),
    [
        (1.0, 1.0 + 1e-10, []),
        (0.0, 1e-300, ["/ 0 -> 1e-300 (by 1 of the larger)"]),
        (1, True, ["/ 1 -> yes"]),
        ([1.0], [1.0, 2.0], ["/ 1 value -> 2 values"]),
        ({"a": None}, {"a": {}, "b/c": 2.0}, ["/a none -> an object", "/b~1c not there -> 2"]),
        ("a", "a", []),
        (2, 2.0, []),
    ],
)
def test_values_differ_by_more_than_a_processor_makes(before: Any, now: Any, texts: list[str]) -> None:
    assert [found.text for found in differences(before, now)] == texts
