"""Work in parts: every task is in one of them, and put together they are what one run writes, byte for byte."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from fatcore import __version__
from service import cli
from service.base.problems import Problem
from service.gate.parts import asked_of
from service.jobs.shard import Shard, shard_of
from tests.api.edited_lines import edited, resealed

CURVE = "peak-stress-opening"
EXAMPLE = Path(__file__).parents[2] / "openapi_examples" / "check" / "one-toe-constant.json"


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.parametrize("count", [1, 2, 3, 7])
def test_every_name_is_in_one_part_and_parts_are_of_like_size(count: int) -> None:
    parts = [Shard(number, count) for number in range(1, count + 1)]
    held = Counter(part for name in range(2000) for part in parts if part.holds(str(name)))
    assert sum(held.values()) == 2000
    assert min(held[part] for part in parts) > 0.8 * 2000 / count
    assert str(parts[-1]) == f"{count}/{count}"


@pytest.mark.parametrize("text", ["0/2", "3/2", "1/0", "1", "1/2/3", "a/b", "-1/2", "1/1001", "", "1 / 2"])
def test_a_part_that_cannot_be_is_refused(text: str) -> None:
    with pytest.raises(Problem, match="--shard takes a part of so many"):
        shard_of(text)


def batch_source(count: int) -> None:
    rows = [
        {
            "id": n,
            "calculation": "curves/life",
            "input": {"curve": "peak-stress-opening", "stress_range_mpa": [60.0 + n]},
        }
        for n in range(count)
    ]
    rows += [rows[3], {**rows[4], "input": {}}, rows[3], {"calculation": "none"}]
    Path("in.ndjson").write_bytes(b"\n".join([*(json.dumps(row).encode() for row in rows), b"{", b"{"]))


def test_outputs_of_parts_are_put_together_to_that_of_one_run(capsys: pytest.CaptureFixture[str]) -> None:
    batch_source(12)
    assert cli.main(["batch", "in.ndjson", "-o", "whole"]) == 1
    names = [f"out-{number}" for number in (1, 2, 3)]
    for number, name in enumerate(names, start=1):
        cli.main(["batch", "in.ndjson", "-o", name, "--shard", f"{number}/3"])
        assert 0 < Path(name).read_bytes().count(b"\n") < 15
    assert cli.main(["batch", "in.ndjson", "-o", "merged", "--merge", *names[::-1]]) == 1
    assert Path("merged").read_bytes() == Path("whole").read_bytes()
    capsys.readouterr()
    for wrong, text in (
        (["--merge", *names[:2]], "no part answers item"),
        (["--merge", *names, names[0]], f"{names[0]} holds answers of another input"),
        (["--merge", *names, "--shard", "1/2"], "--merge goes with -o alone"),
    ):
        assert cli.main(["batch", "in.ndjson", "-o", "merged", *wrong]) == 2
        assert text in capsys.readouterr().err
    assert Path("merged").read_bytes() == Path("whole").read_bytes()
    assert cli.main(["batch", "in.ndjson", "--merge", *names]) == 2
    lines = Path(names[0]).read_bytes().replace(b'"version":"', b'"version":"9').splitlines(keepends=True)
    Path(names[0]).write_bytes(b"".join(map(resealed, lines)))
    assert cli.main(["batch", "in.ndjson", "-o", "merged", "--merge", *names]) == 2
    assert "by different versions or policies" in capsys.readouterr().err


def small(item_id: int) -> dict[str, Any]:
    return {
        "id": item_id,
        "calculation": "curves/life",
        "input": {"curve": CURVE, "stress_range_mpa": [60.0 + item_id]},
    }


SMALL = b"\n".join(json.dumps(small(n)).encode() for n in range(4))


def without_digests(content: bytes) -> bytes:
    lines = [json.loads(line) for line in content.splitlines()]
    for line in lines:
        del line["line_digest"]
    return b"".join(json.dumps(line).encode() + b"\n" for line in lines)


def by_status(line: dict[str, Any], status: int) -> None:
    del line["envelope"]
    line.update(status=status, problem={"status": status})


def of_version(content: bytes, version: bytes) -> bytes:
    lines = content.replace(__version__.encode(), version).splitlines(keepends=True)
    return b"".join(map(resealed, lines))


def first(change: Callable[[dict[str, Any]], object], **how: Any) -> Callable[[bytes], bytes]:
    return lambda out: edited(out, change, **how)


@pytest.mark.parametrize(
    ("change", "text"),
    [
        (first(lambda line: line.update(id=7)), "part, line 1: the id 7 is not that of the item, 0"),
        (first(lambda line: line.pop("envelope")), "part, line 1: no line of a batch answer: "),
        (
            first(lambda line: line.update(problem={})),
            "one of envelope, value, problem, not by envelope and problem",
        ),
        (first(lambda line: line.update(status="200")), "/status "),
        (first(lambda line: line.update(version="0.1.0")), "the line is of version 0.1.0, its record of "),
        (first(lambda line: line.update(policy="p")), "the line is of policy p, its record of none"),
        (
            first(lambda line: line["envelope"].update(caution="none"), sealed=False),
            "it does not fit its digest",
        ),
        (first(lambda line: by_status(line, 503)), "item 1 (0) is answered by 503, which is of that moment"),
        (first(lambda line: by_status(line, 429), at=3), "part, line 4: item 4 (3) is answered by 429"),
        (lambda out: out[:-1], "part ends within line 4: its run was stopped"),
        (lambda out: out.replace(b"\n", b"\r\n"), "part, line 1: another program has changed its line ends"),
        (lambda out: b"\xef\xbb\xbf" + out, "part, line 1: another program has changed its line ends or put a mark"),
        (lambda out: of_version(out, b"0.1.0"), f"the parts are of toeline 0.1.0, this is {__version__}"),
        (lambda out: without_digests(out).replace(b'"version"', b'"was"', 1), "by different versions or policies"),
    ],
)
def test_a_part_that_no_run_of_here_has_written_is_not_put_together(
    change: Callable[[bytes], bytes], text: str, capsys: pytest.CaptureFixture[str]
) -> None:
    Path("in").write_bytes(SMALL)
    assert cli.main(["batch", "in", "-o", "out"]) == 0
    whole = Path("out").read_bytes()
    changed = change(whole)
    assert changed != whole
    Path("part").write_bytes(changed)
    capsys.readouterr()
    assert cli.main(["batch", "in", "-o", "merged", "--merge", "part"]) == 2
    assert text in capsys.readouterr().err
    assert not Path("merged").exists()


def test_parts_of_different_runs_are_not_put_together(capsys: pytest.CaptureFixture[str]) -> None:
    checks(4)
    names = written_in_parts(2)
    second = ["gate", "checks", "--baseline", "accepted.json", "--write-baseline", "--shard", "2/2", "--part", names[1]]
    held = next(name for name in ("0.json", "1.json", "2.json", "3.json") if Shard(1, 2).holds(f"checks/{name}"))
    path = Path("checks") / held
    content = path.read_bytes()

    def refused(words: str) -> None:
        capsys.readouterr()
        assert cli.main(["gate", *names, "--merge", "--baseline", "accepted.json"]) == 2
        assert words in capsys.readouterr().err
        assert not Path("accepted.json").exists()

    path.unlink()
    cli.main(second)
    refused(f"{names[1]} was made of another list of checks than {names[0]}: make the parts by one run")
    path.write_bytes(content.replace(b"part ", b"part  "))
    cli.main(second)
    refused(f"{names[1]} was made of files that changed meanwhile, or with other fitted answers than")
    path.write_bytes(content)
    cli.main([*second, "--limit", "0.9"])
    refused(f"{names[1]} was made with another limit, growth or reason than")
    cli.main(second)
    assert cli.main(["gate", *names, "--merge", "--baseline", "accepted.json"]) == 0


def test_a_file_that_cannot_be_read_has_no_digest() -> None:
    asked = [asked_of({"a": Path("none")}, [Path(name)], {}) for name in ("none", "in", "other")]
    assert asked[0].files == asked[1].files
    Path("in").write_bytes(b"x")
    assert asked_of({"a": Path("none")}, [Path("in")], {}).files != asked[1].files


def test_lines_without_a_digest_of_their_own_are_put_together_with_a_note(capsys: pytest.CaptureFixture[str]) -> None:
    Path("in").write_bytes(SMALL)
    cli.main(["batch", "in", "-o", "out"])
    Path("part").write_bytes(without_digests(Path("out").read_bytes()))
    note = "4 lines have no digest of their own: whether they were edited is not known"
    for more in (["merged", "--merge", "part"], ["part"]):
        capsys.readouterr()
        assert cli.main(["batch", "in", "-o", *more]) == 0
        assert note in capsys.readouterr().err
    assert Path("merged").read_bytes() == Path("part").read_bytes()


def test_a_part_that_is_not_there_is_named(capsys: pytest.CaptureFixture[str]) -> None:
    Path("in").write_bytes(SMALL)
    Path("out").write_bytes(b"kept")
    assert cli.main(["batch", "in", "-o", "out", "--merge", "none"]) == 2
    assert capsys.readouterr().err.startswith("toeline: none: No such file")
    assert Path("out").read_bytes() == b"kept"


def rising(value: Any, factor: float) -> Any:
    """Numbers of plain data times a factor that grows along each list, so that no course is that of another check."""
    if isinstance(value, dict):
        return {name: rising(each, factor) for name, each in value.items()}
    if isinstance(value, list):
        return [rising(each, factor**at) for at, each in enumerate(value, start=1)]
    return value * factor


def checks(count: int) -> None:
    """Check files of which each has a mesh of its own."""
    Path("checks").mkdir(exist_ok=True)
    for number in range(count):
        data = json.loads(EXAMPLE.read_bytes())["request"]
        data["title"] = f"part {number}"
        data["lines"][0]["name"] = f"toe {number}"
        data["lines"][0]["cases"] = rising(data["lines"][0]["cases"], 1.0 + 0.02 * number)
        Path(f"checks/{number}.json").write_text(json.dumps(data))


def written_in_parts(count: int, *more: str) -> list[str]:
    names = [f"part-{number}.json" for number in range(1, count + 1)]
    for number, name in enumerate(names, start=1):
        command = ["gate", "checks", "--baseline", "accepted.json", "--write-baseline"]
        cli.main([*command, "--shard", f"{number}/{count}", "--part", name, *more])
    return names


def test_parts_of_a_baseline_are_put_together_to_that_of_one_run(capsys: pytest.CaptureFixture[str]) -> None:
    checks(5)
    whole = Path("whole.json")
    cli.main(["gate", "checks", "--baseline", str(whole), "--write-baseline"])
    names = written_in_parts(3)
    assert not Path("accepted.json").exists()
    assert cli.main(["gate", *names[::-1], "--merge", "--baseline", "accepted.json"]) == 0
    assert Path("accepted.json").read_bytes() == whole.read_bytes()
    # and once more, beside what is accepted now: one check has another rule, one is new
    checks(6)
    for number in (1, 4):
        path = Path(f"checks/{number}.json")
        data = json.loads(path.read_text())
        data["target"]["damage_limit"] = 0.4
        path.write_text(json.dumps(data))
    reason = ("--because", "report 12")
    cli.main(["gate", "checks", "--baseline", str(whole), "--write-baseline", *reason])
    names = written_in_parts(2, *reason)
    assert cli.main(["gate", *names, "--merge", "--baseline", "accepted.json"]) == 0
    assert Path("accepted.json").read_bytes() == whole.read_bytes()
    assert len(json.loads(whole.read_text())["accepted"]) == 2
    capsys.readouterr()
    assert cli.main(["gate", *names, "--merge", "--baseline", "accepted.json"]) == 2
    assert "was made beside another baseline than the one that is there" in capsys.readouterr().err


def policy_file(name: str, version: str) -> str:
    Path(name).write_text(f'name = "works"\nversion = "{version}"\n')
    return name


def test_parts_made_under_different_rules_of_a_company_are_not_put_together(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    checks(5)
    one, other = policy_file("one.toml", "1"), policy_file("other.toml", "2")
    names = written_in_parts(3, "--policy", one)
    mixed = ["mixed.json", *names[1:]]
    command = ["gate", "checks", "--baseline", "accepted.json", "--write-baseline", "--shard", "1/3"]
    cli.main([*command, "--part", mixed[0], "--policy", other])
    merge = ["--merge", "--baseline", "accepted.json"]
    capsys.readouterr()
    assert cli.main(["gate", *mixed, *merge]) == 2
    assert "by different versions or policies" in capsys.readouterr().err
    assert cli.main(["gate", *names, *merge, "--policy", other]) == 2
    assert "not works 2 (sha256:" in capsys.readouterr().err
    monkeypatch.setenv("TOELINE_POLICY", other)
    assert cli.main(["gate", *names, *merge]) == 2
    assert not Path("accepted.json").exists()
    assert cli.main(["gate", *names, *merge, "--policy", one]) == 0


def test_outputs_made_under_other_rules_of_a_company_are_not_put_together(capsys: pytest.CaptureFixture[str]) -> None:
    batch_source(5)
    other = policy_file("other.toml", "2")
    for number in (1, 2):
        cli.main(["batch", "in.ndjson", "-o", f"out-{number}", "--shard", f"{number}/2"])
    capsys.readouterr()
    assert cli.main(["batch", "in.ndjson", "-o", "merged", "--merge", "out-1", "out-2", "--policy", other]) == 2
    assert "obey the policy none, not works 2" in capsys.readouterr().err
    assert not Path("merged").exists()


def test_a_part_judges_its_checks_alone(capsys: pytest.CaptureFixture[str]) -> None:
    checks(5)
    cli.main(["gate", "checks", "--baseline", "accepted.json", "--write-baseline"])
    Path("checks/2.json").unlink()
    found = []
    for number in (1, 2):
        capsys.readouterr()
        cli.main(["gate", "checks", "--baseline", "accepted.json", "--shard", f"{number}/2", "--json"])
        result = json.loads(capsys.readouterr().out)
        assert result["not_run"] == 0
        found += [each["check"] for each in result["checks"]]
    assert sorted(found) == [f"checks/{number}.json" for number in range(5)]  # the vanished one among them, once


def test_parts_that_do_not_fit_are_refused(capsys: pytest.CaptureFixture[str]) -> None:
    checks(3)
    one, two = written_in_parts(2)
    merge = ["gate", "--merge", "--baseline", "accepted.json"]
    edited = json.loads(Path(one).read_text())
    Path("edited.json").write_text(json.dumps({**edited, "number": 2}))
    Path("other.json").write_text("{}")
    Path("shape.json").write_text(json.dumps({"kind": "toeline baseline part"}))
    from service.gate.baseline import seal

    for name, more in (
        ("newer.json", {"version": "9.9"}),
        ("strange.json", {"number": 2}),
        ("beyond.json", {"number": 3, "checks": {}}),
    ):
        Path(name).write_text(json.dumps(seal({**edited, **more})))
    capsys.readouterr()
    for names, text in (
        ([one], "--merge takes every part of one run once, not 1/2"),
        ([one, one], "--merge takes every part of one run once, not 1/2, 1/2"),
        (["edited.json", two], "does not fit its digest, so it was edited"),
        (["other.json", two], "is no part of a baseline: --shard"),
        (["shape.json", two], "shape.json is no part of a baseline"),
        (["newer.json", two], "newer.json is of toeline 9.9"),
        (["strange.json", one], "strange.json holds checks of another part: checks/"),
        (["beyond.json", one], "beyond.json holds checks of another part"),
    ):
        assert cli.main([*merge[:1], *names, *merge[1:]]) == 2, names
        assert text in capsys.readouterr().err
    for wrong, text in (
        (["--shard", "1/2", "--baseline", "b.json", "--write-baseline"], "--write-baseline with --shard needs --part"),
        (["--part", "p.json"], "--part FILE goes with --shard and --write-baseline"),
        (["--merge"], "--merge needs --baseline FILE"),
        (["--merge", "--shard", "1/2", "--baseline", "b.json"], "--merge goes with --baseline alone"),
        (
            ["--shard", "1/2", "--baseline", "b.json", "--accept", "a", "--because", "b"],
            "--accept goes without --shard",
        ),
    ):
        assert cli.main(["gate", "checks", *wrong]) == 2
        assert text in capsys.readouterr().err
    assert cli.main(["gate", "checks/0.json", "--shard", "1/1000", "--junit", "j.xml", "--markdown", "m.md"]) == 0
    assert "PASSED: 0 checks, 0 weld lines" in capsys.readouterr().out
