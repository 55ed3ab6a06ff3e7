"""The baseline of a gate as a file: accepted by name, merged, written whole, refused when it was bent."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from service.cli import main
from service.gate.baseline import seal
from tests.api.test_gate import write
from tests.api.test_unsafe_gate import Change, design, drop, faults, full, gate, put, store

__all__ = ["design"]  # the fixture, for the tests of this file


# --- what is accepted, is accepted by name


def test_accepted_by_name_passes_and_is_shown_ever_after(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    given = full()
    given["target"]["damage_limit"] = 0.6
    given["lines"][0]["mesh"]["element_size_mm"] = 1.9
    write(Path("models/hanger.json"), given)
    named = ["--accept", "models/hanger.json", "--because", "  customer's\n new rule "]
    assert gate(capsys, *named)[0] == 0
    written = Path("base.json").read_bytes()
    code, result = gate(capsys)
    assert (code, faults(result)) == (0, [])
    entry = result["accepted"][0]
    assert (entry["check"], entry["line"], entry["because"]) == (
        "models/hanger.json",
        None,
        "customer's new rule",
    )
    assert entry["changes"][:2] == [
        "rules changed: target.damage_limit 0.5 -> 0.6",
        "toe A: rules changed: mesh.element_size_mm 2.0 -> 1.9",
    ]
    main(["gate", "models", "--baseline", "base.json"])
    assert "accepted because customer's new rule" in capsys.readouterr().out
    assert main(["gate", "models", "--baseline", "base.json", "--write-baseline"]) == 0
    assert Path("base.json").read_bytes() == written  # no clock, no name of a user; kept over a new state


def test_accepting_a_line_leaves_the_others_and_the_check(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    given = full()
    for line in given["lines"]:
        line["mesh"]["element_size_mm"] = 1.9
    given["target"]["damage_limit"] = 0.6
    write(Path("models/hanger.json"), given)
    code, result = gate(capsys, "--accept", "models/hanger.json:toe A", "--because", "finer mesh")
    assert code == 1
    assert [text for _, text in faults(result)] == [
        "rules changed: target.damage_limit 0.5 -> 0.6",
        "toe B: rules changed: mesh.element_size_mm 2.0 -> 1.9",
    ]
    assert [(entry["line"], entry["because"]) for entry in result["accepted"]] == [("toe A", "finer mesh")]


def test_vanished_line_and_file_are_accepted_by_name(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    store(full(), "second")
    Path("models/second.json").unlink()
    given = full()
    del given["lines"][1]
    write(Path("models/hanger.json"), given)
    assert [kind for kind, _ in faults(gate(capsys)[1])] == ["vanished"] * 3
    reason = ["--because", "taken out of the design"]
    assert gate(capsys, "--accept", "models/hanger.json:toe B", *reason)[0] == 1
    code, result = gate(capsys, "--accept", "models/second.json:toe A", "--accept", "models/second.json:toe B", *reason)
    assert (code, len(result["accepted"])) == (0, 3)
    assert set(json.loads(Path("base.json").read_text())["checks"]) == {"models/hanger.json"}


def test_vanished_file_is_accepted_as_a_whole(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    store(full(), "second")
    Path("models/second.json").unlink()
    code, result = gate(capsys, "--accept", "models/second.json", "--because", "no longer built")
    assert (code, [check["check"] for check in result["checks"]]) == (0, ["models/hanger.json"])
    assert [entry["check"] for entry in result["accepted"]] == ["models/second.json"]


def test_path_as_typed_names_a_check_as_well(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Keys are seen from the baseline's folder; a user types paths as seen from where the command runs."""
    baseline = ["--baseline", "models/base.json"]
    assert main(["gate", "models", *baseline, "--write-baseline"]) == 0
    given = full()
    given["lines"][0]["name"] = "toe: left"
    given["target"]["load_factor"] = 1.01
    write(Path("models/hanger.json"), given)
    named = ["--accept", "models/hanger.json", "--accept-vanished", "--because", "heavier load"]
    assert main(["gate", "models", *baseline, *named]) == 0
    given["lines"][0]["mesh"]["element_size_mm"] = 1.9
    write(Path("models/hanger.json"), given)
    named = ["--accept", "models/hanger.json:toe: left", "--because", "finer mesh"]
    assert main(["gate", "models", *baseline, *named]) == 0


def test_growth_is_accepted_at_its_present_value(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    given = full()
    given["loading"]["factors"]["vertical"]["maximum"] = 13.0
    write(Path("models/hanger.json"), given)
    assert [kind for kind, _ in faults(gate(capsys)[1])] == ["growth"]
    assert gate(capsys, "--accept", "models/hanger.json:toe A", "--because", "more load")[0] == 0
    given["loading"]["factors"]["vertical"]["maximum"] = 13.1
    write(Path("models/hanger.json"), given)
    assert gate(capsys)[0] == 1


@pytest.mark.parametrize(
    ("change", "text"),
    [
        (put("loading.factors.vertical.maximum", 60.0), "is above the limit"),
        (put("lines.0.mesh.element_size_mm", 30.0), "outside validity"),
    ],
    ids=["over the limit", "undecided"],
)
def test_over_the_limit_and_undecided_are_never_accepted(
    design: Path, capsys: pytest.CaptureFixture[str], change: Change, text: str
) -> None:
    before = Path("base.json").read_bytes()
    given = full()
    change(given)
    write(Path("models/hanger.json"), given)
    for name in ("models/hanger.json", "models/hanger.json:toe A"):
        named = ["--accept", name, "--because", "because I say so"]
        assert main(["gate", "models", "--baseline", "base.json", *named]) == 2
        assert "cannot be accepted" in capsys.readouterr().err
    assert Path("base.json").read_bytes() == before
    assert any(text in shown for _, shown in faults(gate(capsys)[1]))


@pytest.mark.parametrize(
    "options",
    [
        ["--accept", "models/hanger.json"],
        ["--because", "no name"],
        ["--accept", "models/hanger.json", "--because", "  "],
        ["--accept", "models/hanger.json", "--because", "x" * 1001],
        ["--accept", "models/hanger.json", "--because", "bell \a of the terminal"],
        ["--accept", "models/hanger.json", "--because", "nothing changed"],
        ["--accept", "models/hanger.json:toe C", "--because", "no such line"],
        ["--accept", "models/hange.json", "--because", "no such check"],
        ["--accept", "models/hanger.json", "--because", "both at once", "--write-baseline"],
        ["--growth-floor", "1.01"],
        ["--growth-floor", "nan"],
    ],
)
def test_acceptance_that_makes_no_sense_gives_2(design: Path, options: list[str]) -> None:
    before = Path("base.json").read_bytes()
    assert main(["gate", "models", "--baseline", "base.json", *options]) == 2
    assert Path("base.json").read_bytes() == before


def test_acceptance_needs_a_baseline(design: Path) -> None:
    assert main(["gate", "models", "--accept", "models/hanger.json", "--because", "no file"]) == 2


def test_nothing_is_accepted_while_a_check_has_no_answer(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = Path("base.json").read_bytes()
    given = full()
    given["target"]["damage_limit"] = 0.6
    write(Path("models/hanger.json"), given)
    write(Path("models/broken.json"), {"lines": []})
    assert gate(capsys, "--accept", "models/hanger.json", "--because", "customer's rule")[0] == 2
    assert Path("base.json").read_bytes() == before


# --- a baseline keeps what a run does not hold


def test_writing_a_part_keeps_the_rest(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    store(full(), "second")
    write(Path("models/third.json"), full())
    assert main(["gate", "models/third.json", "--baseline", "base.json", "--write-baseline"]) == 0
    checks = json.loads(Path("base.json").read_text())["checks"]
    assert set(checks) == {"models/hanger.json", "models/second.json", "models/third.json"}


def test_writing_erases_no_line_and_tells_what_it_replaces(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    given = full()
    del given["lines"][1]
    given["target"]["damage_limit"] = 0.6
    write(Path("models/hanger.json"), given)
    code, result = gate(capsys, "--write-baseline", "--because", "new rule of the customer")
    assert code == 1  # the line that is gone has to be accepted by name
    assert [kind for kind, _ in faults(result)] == ["vanished"]
    text = "models/hanger.json: replaced in the baseline: rules changed: target.damage_limit 0.5 -> 0.6"
    assert text in result["notes"]
    assert [kind for kind, _ in faults(gate(capsys)[1])] == ["vanished"]


def test_stop_while_writing_leaves_the_baseline_whole(design: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    before = Path("base.json").read_bytes()
    write(Path("models/second.json"), full())

    def stopped(*_: Any) -> None:
        raise OSError("no space left")

    with monkeypatch.context() as patch:
        patch.setattr("os.fsync", stopped)
        assert main(["gate", "models", "--baseline", "base.json", "--write-baseline"]) == 2
    assert Path("base.json").read_bytes() == before
    assert sorted(path.name for path in design.iterdir()) == ["base.json", "models"]


def test_baseline_that_is_a_link_stays_one(design: Path) -> None:
    Path("base.json").rename("kept.json")
    Path("base.json").symlink_to("kept.json")
    write(Path("models/second.json"), full())
    assert main(["gate", "models", "--baseline", "base.json", "--write-baseline"]) == 0
    assert Path("base.json").is_symlink()
    assert len(json.loads(Path("kept.json").read_text())["checks"]) == 2


@pytest.mark.parametrize("write_too", [[], ["--write-baseline"]])
def test_older_format_is_refused_with_the_way_out(
    design: Path, write_too: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    old = {"kind": "toeline baseline", "version": "0.1.0", "checks": {}}
    write(Path("base.json"), old)
    capsys.readouterr()
    assert main(["gate", "models", "--baseline", "base.json", *write_too]) == 2
    assert "base.json has format 1; this version reads 6" in capsys.readouterr().err
    assert json.loads(Path("base.json").read_text()) == old


@pytest.mark.parametrize(
    "change",
    [
        put("checks.models/hanger~json.lines.toe A.utilisation", float("nan")),
        put("checks.models/hanger~json.lines.toe A.utilisation", -1.0),
        put("checks.models/hanger~json.lines.toe A.limit", 5.0),
        drop("checks.models/hanger~json.lines.toe A.rules"),
        drop("checks.models/hanger~json.rules"),
        put("accepted", [{"check": "models/hanger.json", "line": None, "changes": ["x"], "because": ""}]),
        put("format", 9),
    ],
)
def test_baseline_edited_by_hand_is_refused(design: Path, change: Change) -> None:
    text = Path("base.json").read_text().replace("hanger.json", "hanger~json")
    stored = json.loads(text)
    change(stored)
    text = json.dumps(stored).replace("hanger~json", "hanger.json")
    write(Path("base.json"), seal(json.loads(text)))
    assert main(["gate", "models", "--baseline", "base.json"]) == 2


# --- which lines and files


def test_answer_beside_its_check_is_left_out(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["check", "models/hanger.json", "-o", "models/answer.json"])
    code, result = gate(capsys)
    assert (code, result["notes"]) == (0, ["models/answer.json: holds no check, left out"])


def test_renamed_line_is_vanished_and_compared(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    given = full()
    given["lines"][1]["name"] = "toe C"
    write(Path("models/hanger.json"), given)
    code, result = gate(capsys)
    lines = {line["name"]: line for line in result["checks"][0]["lines"]}
    assert (code, lines["toe B"]["now"], lines["toe C"]["growth_pct"]) == (1, None, 0.0)
    assert lines["toe C"]["before"] == lines["toe B"]["before"]
