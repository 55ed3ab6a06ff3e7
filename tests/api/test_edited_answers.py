"""Answers that somebody edited, and files of another shape: a comparison says so or refuses them, and never passes."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from service import cli
from service.comparison.values import differences
from tests.api.edited_lines import edited

from .conftest import Run

EXAMPLE = Path(__file__).parents[2] / "openapi_examples" / "check" / "one-toe-constant.json"
Answer = dict[str, Any]


@pytest.fixture(scope="module")
def answered(tmp_path_factory: pytest.TempPathFactory) -> tuple[bytes, bytes]:
    """Request and answer of a check."""
    folder = tmp_path_factory.mktemp("pair")
    request, answer = folder / "request.json", folder / "answer.json"
    request.write_text(json.dumps(json.loads(EXAMPLE.read_bytes())["request"]))
    cli.main(["check", str(request), "-o", str(answer)])
    return request.read_bytes(), answer.read_bytes()


def put(answered: tuple[bytes, bytes], change: Callable[[Answer], object]) -> None:
    answer = json.loads(answered[1])
    change(answer)
    Path("request.json").write_bytes(answered[0])
    Path("answer.json").write_text(json.dumps(answer))


def first_source(answer: Answer) -> Answer:
    source: Answer = answer["record"]["sources"][0]
    return source


@pytest.mark.parametrize(
    ("change", "text"),
    [
        (lambda a: a["findings"][0].update(message="All is well."), "/0/message "),
        (lambda a: a["findings"][0].update(count=77), "/0/count "),
        (lambda a: a["findings"][0].update(field="x"), "/0/field "),
        (lambda a: a.pop("caution"), "/caution not there -> Fatigue assessment"),
        (lambda a: a.update(caution="Nothing to check."), "/caution Nothing to check. -> "),
        (lambda a: a.update(approved=True), "/approved yes -> not there"),
        (lambda a: first_source(a).update(citation="Another one"), "/0/citation Another one -> "),
        (lambda a: first_source(a).update(remark="sure"), "/0/remark sure -> "),
        (lambda a: a["record"]["sources"].pop(), "came: source "),
        (lambda a: a["record"].update(calculation="cracks/growth"), "/status 200 -> 422"),
        (lambda a: a["record"].update(input_digest="sha256:0"), "/record/input_digest sha256:0 -> "),
        (lambda a: a["record"].update(signed="me"), "/record/signed me -> not there"),
        (lambda a: a["record"].pop("policy"), "/record/policy not there -> none"),
        (lambda a: a["answer"].update(utilisation=0.5), "/answer/utilisation 0.5 -> "),
        (lambda a: a["answer"].update(note="fine"), "/answer/note fine -> not there"),
    ],
)
def test_an_edit_is_a_difference(
    run: Run, answered: tuple[bytes, bytes], change: Callable[[Answer], object], text: str
) -> None:
    put(answered, change)
    code, printed = run("verify", "request.json", "answer.json")
    assert code == 1
    assert text in printed


def test_the_words_name_an_edit_as_a_possible_cause(run: Run, answered: tuple[bytes, bytes]) -> None:
    put(answered, lambda a: a["findings"][0].update(message="All is well."))
    printed = run("verify", "request.json", "answer.json")[1]
    assert "an edit may have made a number, message, caution or citation" in printed


SHAPES: list[tuple[Callable[[Answer], object], str]] = [
    (lambda a: a.update(record=None), "record"),
    (lambda a: a["record"].pop("input_digest"), "input_digest"),
    (lambda a: a["record"].update(tables=None), "tables"),
    (lambda a: a["record"].update(tables=[]), "tables"),
    (lambda a: a["record"].update(sources=None), "sources"),
    (lambda a: a["record"].update(sources=["x"]), "an entry of sources"),
    (lambda a: a["record"].update(policy="x"), "policy"),
    (lambda a: a["record"].update(policy={"name": "n", "version": "1"}), "digest"),
    (lambda a: a["record"].update(revision="1"), "revision"),
    (lambda a: a.update(findings=None), "findings"),
    (lambda a: a.update(findings=["x"]), "an entry of findings"),
    (lambda a: a.update(findings=[{}]), "inputs are refused"),
    (lambda a: a.update(answer=[]), "answer"),
    (lambda a: a.update(caution=5), "caution"),
    (lambda a: a["answer"].update(utilisation=float("nan")), "must be a finite number"),
    (lambda a: a["answer"].update(utilisation=float("-inf")), "must be a finite number"),
    (lambda a: a["findings"][0].update(value=float("inf")), "must be a finite number"),
    (lambda a: a["answer"].update(utilisation=10**400), "must be a finite number"),
    (lambda a: a["answer"].update(deep=json.loads("[" * 90 + "]" * 90)), "nested too deeply"),
]


@pytest.mark.parametrize(("change", "text"), SHAPES)
def test_an_answer_of_another_shape_is_refused_by_every_reader(
    run: Run, answered: tuple[bytes, bytes], change: Callable[[Answer], object], text: str
) -> None:
    put(answered, change)
    both = {"calculation": "check", "request": json.loads(answered[0])}
    Path("both.json").write_text(json.dumps({**both, "response": json.loads(Path("answer.json").read_bytes())}))
    for command in (
        ["verify", "request.json", "answer.json"],
        ["verify", "both.json"],
        ["report", "request.json", "--baseline", "answer.json", "-o", "page.html"],
    ):
        code, printed = run(*command)
        assert (code, text in printed) == (2, True), printed


def test_numbers_of_more_digits_than_a_number_has_are_refused_as_written(
    run: Run, answered: tuple[bytes, bytes]
) -> None:
    put(answered, lambda a: a["answer"].update(utilisation=12345.5))
    Path("answer.json").write_text(Path("answer.json").read_text().replace("12345.5", "1e999"))
    assert run("verify", "request.json", "answer.json")[0] == 2


CURVE = {"curve": "peak-stress-opening", "stress_range_mpa": [90.0]}
ROWS = [
    *({"id": n, "calculation": "curves/life", "input": CURVE} for n in range(2)),
    {"id": "value", "calculation": "curves/life", "input": CURVE, "only": "answer.life_cycles.0"},
    {"id": "refused", "calculation": "curves/life", "input": {}},
    {"id": "a\nb", "calculation": "curves/life", "input": CURVE},
]


@pytest.fixture(scope="module")
def output(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """What a batch answers to the items."""
    folder = tmp_path_factory.mktemp("batch")
    (folder / "in").write_text("\n".join(map(json.dumps, ROWS)))
    cli.main(["batch", str(folder / "in"), "-o", str(folder / "out")])
    return (folder / "out").read_bytes()


def with_value(text: str) -> Callable[[bytes], bytes]:
    return lambda out: edited(out, lambda line: line.update(value=text), at=2)


def swapped(out: bytes) -> bytes:
    lines = out.splitlines(keepends=True)
    return b"".join([lines[1], lines[0], *lines[2:]])


def first(change: Callable[[Answer], object]) -> Callable[[bytes], bytes]:
    return lambda out: edited(out, change)


@pytest.mark.parametrize("text", ["NaN", "inf", "1e400", "1_0", "１０", " 12", "+1", "True", "infinite"])
def test_a_value_is_the_number_that_it_is_written_as(run: Run, output: bytes, text: str) -> None:
    Path("in").write_text("\n".join(map(json.dumps, ROWS)))
    Path("out").write_bytes(with_value(text)(output))
    Path("old").write_bytes(output)
    for command in (["verify", "in", "out"], ["compare", "old", "out"], ["compare", "out", "old"]):
        code, printed = run(*command)
        assert code == 1, command
        assert "/value " in printed


@pytest.mark.parametrize("number", ["1e400", "NaN", "inf"])
def test_a_value_that_is_no_finite_number_is_a_text_that_equals_itself_alone(number: str) -> None:
    assert len([*differences(float(number), float(number))]) == 1


def test_numbers_of_opposite_signs_at_the_end_of_the_range_have_a_finite_difference() -> None:
    (found,) = differences(1.7e308, -1.7e308)
    assert found.relative == 2.0
    assert [each.relative for each in differences(10**400, 5.0)] == [None]


def test_long_texts_are_shown_where_they_part() -> None:
    (found,) = differences("a" * 200 + "old", "a" * 200 + "new")
    assert found.text == f"/ ...{'a' * 60}old -> ...{'a' * 60}new"


@pytest.mark.parametrize(
    ("change", "text"),
    [
        (swapped, "  /id 1 -> 0\n"),
        (first(lambda line: line.update(id="x")), "item 'x'\n  /id 'x' -> 0\n"),
        (first(lambda line: line.update(id="0")), "item '0'\n  /id '0' -> 0\n"),
        (lambda out: b"".join(out.splitlines(keepends=True)[:-3]), "2 the same, 0 changed, 3 without an answer"),
        (
            lambda out: edited(out, lambda line: line.update(status=404), at=3),
            "item 'refused'\n  /status 404 -> 422\n",
        ),
        (
            lambda out: edited(out, lambda line: line["problem"].update(detail="x"), at=3),
            "item 'refused'\n  /problem/detail x -> ",
        ),
        (
            lambda out: edited(out, lambda line: line.update(findings="none at all"), at=2),
            "item 'value'\n  /findings none at all -> note:",
        ),
        (
            lambda out: edited(out, lambda line: line.update(more=1), sealed=False),
            "item 0\n  since: the line does not fit its digest: it was edited\n",
        ),
    ],
)
def test_an_edited_line_is_not_the_same(run: Run, output: bytes, change: Callable[[bytes], bytes], text: str) -> None:
    Path("in").write_text("\n".join(map(json.dumps, ROWS)))
    Path("out").write_bytes(change(output))
    code, printed = run("verify", "in", "out")
    assert code == 1
    assert text in printed
    found = json.loads(run("verify", "in", "out", "--json")[1])
    assert found["changed"] or found["unanswered"]


@pytest.mark.parametrize(
    "change",
    [
        first(lambda line: line.update(status="200")),
        first(lambda line: line.update(status=None)),
        first(lambda line: line.update(status=True)),
        first(lambda line: line.update(status=404)),
        first(lambda line: line.update(problem={})),
        first(lambda line: line.update(envelope="x")),
        first(lambda line: line.update(envelope=[])),
        first(lambda line: line.update(envelope={})),
        first(lambda line: line.update(id=[])),
        first(lambda line: line.update(id=True)),
        first(lambda line: line.pop("envelope")),
        first(lambda line: line["envelope"]["answer"]["life_cycles"].append(float("nan"))),
        first(lambda line: line["envelope"]["answer"]["life_cycles"].append(10**400)),
        first(lambda line: line["envelope"]["record"].update(version="9")),
        lambda out: out.replace(b'"status":200', b'"status":200,"status":200', 1),
        lambda out: b"[" * 5000 + b"]" * 5000 + b"\n" + out,
        lambda out: out[:-1],
    ],
)
def test_a_line_of_another_shape_is_refused_by_every_reader(
    run: Run, output: bytes, change: Callable[[bytes], bytes]
) -> None:
    Path("in").write_text("\n".join(map(json.dumps, ROWS)))
    changed = change(output)
    Path("out").write_bytes(changed)
    Path("old").write_bytes(output)
    whole = changed.endswith(b"\n")
    for command in (
        ["verify", "in", "out"],
        ["compare", "old", "out"],
        ["compare", "out", "old"],
        ["batch", "in", "-o", "merged", "--merge", "out"],
        *([["batch", "in", "-o", "out"]] if whole else []),
    ):
        code, printed = run(*command)
        assert (code, "line " in printed) == (2, True), (command, printed)
    assert Path("out").read_bytes() == changed


def test_line_ends_of_another_system_hinder_no_comparison(run: Run, output: bytes) -> None:
    Path("in").write_text("\n".join(map(json.dumps, ROWS)))
    Path("old").write_bytes(output)
    Path("out").write_bytes(b"\xef\xbb\xbf" + output.replace(b"\n", b"\r\n"))
    assert run("verify", "in", "out") == (0, "5 the same, 0 changed\n")
    assert run("compare", "old", "out") == (0, "5 the same, 0 changed\n")


@pytest.mark.parametrize(("lines", "note"), [(1, "1 line has no digest of its own"), (2, "2 lines have no digest of")])
def test_lines_without_a_digest_of_their_own_are_compared_with_a_note(
    run: Run, output: bytes, lines: int, note: str
) -> None:
    Path("in").write_text("\n".join(map(json.dumps, ROWS)))
    found = [json.loads(line) for line in output.splitlines()]
    for line in found[:lines]:
        del line["line_digest"]
    whole = output.splitlines(keepends=True)
    Path("out").write_bytes(b"".join([*(json.dumps(line).encode() + b"\n" for line in found[:lines]), *whole[lines:]]))
    code, printed = run("verify", "in", "out")
    assert code == 0
    assert f"note: {note}" in printed
    assert printed.endswith("5 the same, 0 changed\n")


def test_names_with_line_breaks_are_one_line(run: Run) -> None:
    data = json.loads(EXAMPLE.read_bytes())["request"]
    name = "a\n9 the same, 0 changed\n::error::x"
    Path("request.json").write_text(json.dumps(data))
    cli.main(["check", "request.json", "-o", name])
    answer = json.loads(Path(name).read_bytes())
    Path(name).write_text(json.dumps({**answer, f"{name}\x1b[2K": "x"}))
    code, printed = run("verify", "request.json", name)
    assert code == 1
    assert not any(line.startswith(("9 the same", "::error")) for line in printed.splitlines())
    assert "\x1b" not in printed


def verdicts(whole: str, line: str) -> str:
    record = {"calculation": "none", "version": "1", "revision": 1, "input_digest": "d", "tables": {}}
    answer = {
        "verdict": whole,
        "lines": [{"name": "toe", "verdict": line}],
        "rows": [[1.0], {"acceptable": whole == "x"}],
    }
    return json.dumps({"id": 1, "status": 200, "envelope": {"answer": answer, "findings": [], "record": record}}) + "\n"


def value(text: str) -> str:
    return json.dumps({"id": 1, "status": 200, "value": text, "findings": "none"}) + "\n"


REFUSED = json.dumps({"id": 1, "status": 422, "problem": {}}) + "\n"


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        (verdicts("fail", "fail"), verdicts("pass", "pass"), ": verdict fail -> pass, looser"),
        (verdicts("fail", "fail"), verdicts("fail", "pass"), ": a verdict of it looser"),
        (verdicts("fail", "fail"), verdicts("x", "fail"), ": a verdict of it looser"),
        (verdicts("pass", "fail"), verdicts("fail", "pass"), ": verdict pass -> fail, looser"),
        (verdicts("pass", "pass"), verdicts("pass", "undecided"), ": a verdict of it stricter"),
        (value("fail"), value("pass"), ": a verdict of it looser"),
        (value("#OUTSIDE: x"), value("pass"), ": a verdict of it looser"),
        (value("pass"), value("undecided"), ": a verdict of it stricter"),
        (value("1.0"), value("2.0"), ""),
        (REFUSED, verdicts("pass", "pass"), ": a verdict of it looser"),
        (verdicts("pass", "pass"), REFUSED, ": a verdict of it stricter"),
        (REFUSED, value("pass"), ": a verdict of it looser"),
        (REFUSED, value("1.0"), ""),
    ],
)
def test_a_verdict_is_looser_wherever_it_stands(run: Run, old: str, new: str, words: str) -> None:
    Path("old").write_text(old)
    Path("new").write_text(new)
    code, printed = run("compare", "old", "new")
    assert code == 1
    assert printed.splitlines()[0] == f"item 1{words}"
    assert (" with a looser verdict" in printed) is ("looser" in words)


def test_a_batch_of_an_array_is_taken_as_the_service_takes_it(run: Run, output: bytes) -> None:
    Path("in").write_text(json.dumps(ROWS, indent=1))
    assert run("batch", "in", "-o", "out")[0] == 1
    assert Path("out").read_bytes() == output
    assert run("verify", "in", "out") == (0, "5 the same, 0 changed\n")
    for content in ("[]", " \n", "[\n]"):
        Path("in").write_text(content)
        assert run("batch", "in", "-o", "new") == (2, "toeline: in holds no calculation\n")


def test_an_output_that_cannot_be_read_twice_is_not_compared(run: Run, output: bytes) -> None:
    Path("out").write_bytes(output)
    for command in (["compare", "/dev/null", "out"], ["compare", "out", "/dev/null"]):
        assert run(*command) == (2, "toeline: /dev/null is a pipe or a device; give a file\n")
