"""Ways past a gate: growth in small steps, scaled stand-ins, lines renamed together with their file."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from service.cli import main
from service.gate.accept import merged
from service.gate.baseline import Baseline
from service.gate.gate import Answers, judge
from service.gate.result import Limits
from tests.api.test_gate import answer_of
from tests.api.test_unsafe_gate import design, faults, gate, notes
from tests.api.test_unsafe_second_gate import KEY, at, bare, check, line, put, stored

__all__ = ["bare", "design"]  # the fixtures, for the tests of this file

STORE = ["gate", "models", "--baseline", "base.json", "--write-baseline", "--growth-pct", "2"]
A, B = (60.0, 62.0, 65.0, 61.0, 58.0), (40.0, 48.0, 45.0, 44.0, 42.0)
K = (66.0, 70.0, 71.0, 80.0, 60.0)


def row(name: str, figures: tuple[float, ...], factor: float = 1.0, **more: Any) -> dict[str, Any]:
    """A weld line with the given stresses in a unit case, per 12 of load."""
    given = line(name, **more)
    given["position_mm"] = [2.0 * place for place in range(len(figures))]
    given["cases"]["vertical"]["peaks_mpa"]["opening"] = [factor * value / 10.0 for value in figures]
    return given


def kept(name: str = "toe") -> dict[str, Any]:
    """A line of the baseline."""
    found: dict[str, Any] = json.loads(Path("base.json").read_text())["checks"][KEY]["lines"][name]
    return found


# --- growth in small steps


def test_growth_in_small_steps_needs_a_reason_once_it_adds_up(bare: Path, capsys: pytest.CaptureFixture[str]) -> None:
    stored(check=check(line("toe", 0.8)))
    first = kept()["utilisation"]
    put(check(line("toe", 0.8 * 1.019)))
    assert main(STORE) == 0
    put(check(line("toe", 0.8 * 1.019**2)))
    written = Path("base.json").read_bytes()
    capsys.readouterr()
    assert main(STORE) == 2
    shown = capsys.readouterr().err
    assert "the reference" in shown
    assert "was stored last), to " in shown
    assert "(+3.84 %, allowed +2 %)" in shown
    assert Path("base.json").read_bytes() == written
    assert (kept()["reference_utilisation"], kept()["utilisation"]) == (first, pytest.approx(1.019 * first))
    code, result = gate(capsys, "--growth-pct", "2")
    assert (code, [kind for kind, _ in faults(result)]) == (1, ["growth"])
    assert at(result, "toe")["growth_pct"] == pytest.approx(3.84, abs=0.01)
    assert main(["gate", "models", "--baseline", "base.json", "--markdown", "m.md"]) == 1
    assert f"grew from {first:#.3g}, the reference" in Path("m.md").read_text(encoding="utf-8")
    assert main([*STORE, "--because", "heavier truck"]) == 0
    assert kept()["reference_utilisation"] == pytest.approx(1.019**2 * first)


def test_number_that_fell_a_little_lowers_what_growth_counts_from(
    bare: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    stored(check=check(line("toe", 0.8)))
    put(check(line("toe", 0.72)))
    assert main(STORE) == 0
    put(check(line("toe", 0.8)))
    code, result = gate(capsys, "--growth-pct", "2")
    assert (code, [kind for kind, _ in faults(result)]) == (1, ["growth"])


def test_growth_below_the_floor_is_stored_with_a_reason_only(bare: Path, capsys: pytest.CaptureFixture[str]) -> None:
    stored(check=check(line("toe", 0.25)))
    put(check(line("toe", 0.5)))
    assert gate(capsys, "--growth-pct", "2")[0] == 0
    assert main(STORE) == 2
    assert "toe: utilisation grew from " in capsys.readouterr().err
    assert main([*STORE, "--because", "heavier truck"]) == 0
    assert "toe: utilisation grew from " in gate(capsys)[1]["accepted"][0]["changes"][0]


def test_reason_of_one_line_does_not_raise_the_reference_of_another(
    bare: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    stored(check=check(line("toe", 0.8), line("root", 0.7)))
    before = kept()["reference_utilisation"]
    put(check(line("toe", 0.808), line("root", 0.8)))
    assert main([*STORE, "--because", "thinner root"]) == 0
    assert kept()["reference_utilisation"] == before
    assert kept("root")["reference_utilisation"] == kept("root")["utilisation"]


def test_reference_goes_on_under_a_new_name_and_path(bare: Path, capsys: pytest.CaptureFixture[str]) -> None:
    stored(check=check(line("toe", 0.8)))
    first = kept()["utilisation"]
    Path(KEY).unlink()
    put(check(line("toe of rail", 0.808)), "models/new.json")
    main([*STORE, "--accept-vanished"])
    found = json.loads(Path("base.json").read_text())["checks"]["models/new.json"]["lines"]["toe of rail"]
    assert found["reference_utilisation"] == first


# --- less than before


LESS = {
    "a fall by more than a fifth": (row("toe", A), row("toe", A, 0.79)),
    "without its worst station": (row("toe", K), row("toe", K[:3])),
    "fewer stations over the same length": (
        row("toe", K),
        {**row("toe", (66.0, 71.0, 80.0, 60.0)), "position_mm": [0.0, 4.0, 6.0, 8.0]},
    ),
}


@pytest.mark.parametrize(("before", "now"), LESS.values(), ids=LESS)
def test_less_than_before_is_stored_with_a_reason_only(
    bare: Path, capsys: pytest.CaptureFixture[str], before: dict[str, Any], now: dict[str, Any]
) -> None:
    stored(check=check(before))
    written = Path("base.json").read_bytes()
    put(check(now))
    assert gate(capsys)[0] == 0
    assert main(STORE) == 2
    assert "would store what needs a reason" in capsys.readouterr().err
    assert Path("base.json").read_bytes() == written
    assert gate(capsys, "--accept", f"{KEY}:toe", "--because", "new shape of the plate")[0] == 0
    assert gate(capsys)[1]["accepted"][0]["because"] == "new shape of the plate"


def test_falls_in_small_steps_need_a_reason_once_they_add_up(bare: Path, capsys: pytest.CaptureFixture[str]) -> None:
    stored(check=check(line("toe", 0.8)))
    put(check(line("toe", 0.7)))
    assert main(STORE) == 0
    put(check(line("toe", 0.6)))
    capsys.readouterr()
    assert main(STORE) == 2
    assert "(-25 %) fell far" in capsys.readouterr().err
    assert main([*STORE, "--because", "thicker plate"]) == 0
    put(check(line("toe", 0.5)))
    assert main(STORE) == 0


@pytest.mark.parametrize(
    ("before", "now", "asked"),
    [(1e5, 7.9e4, True), (1e5, 8.1e4, False), (1e5, 1.21e5, True), (1e5, None, True), (None, None, False)],
)
def test_life_of_a_crack_that_changed_far_is_stored_with_a_reason_only(
    design: Path, before: float | None, now: float | None, asked: bool
) -> None:
    answer = answer_of(design)
    answer = replace(answer, rules={**answer.rules, "growth": {"line": "toe A"}})
    first = Answers([replace(answer, crack_life_repeats=before)])
    stored = merged(Baseline(folder=design), first, judge(first, Limits()), None).baseline
    again = Answers([replace(answer, crack_life_repeats=now)])
    result = judge(again, Limits(), stored)
    (found,) = result.checks
    assert ([text.startswith("the life of the crack ") for text in found.needs_reason], found.passed) == (
        [True] * asked,
        True,
    )
    assert len(merged(stored, again, result, "another steel").baseline.accepted) == int(asked)


# --- a stored state that had failed


def test_check_that_had_failed_as_a_whole_is_reported(design: Path) -> None:
    answer = answer_of(design)
    first = Answers([replace(answer, verdict="undecided")])
    stored = merged(Baseline(folder=design), first, judge(first, Limits()), None).baseline
    (found,) = judge(Answers([answer]), Limits(), stored).checks
    assert "the stored state of the check was undecided as a whole: no accepted state" in found.notes


def test_failed_first_state_is_reported_when_stored_and_when_compared(
    bare: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    put(check(line("toe", 1.6)))
    code, result = gate(capsys, "--write-baseline")
    assert code == 1
    assert any(note.startswith("stored as a first state that does not pass: toe: util") for note in notes(result))
    put(check(line("toe", 0.95)))
    code, result = gate(capsys)
    assert code == 0
    assert any(note.startswith("the stored state had failed, with a utilisation of ") for note in notes(result))
    assert main(["gate", "models", "--baseline", "base.json", "--junit", "j.xml"]) == 0
    assert " (failed)" in capsys.readouterr().out
    assert "baseline: failed\n" in Path("j.xml").read_text(encoding="utf-8")


def test_bound_of_the_growth_is_named(bare: Path, capsys: pytest.CaptureFixture[str]) -> None:
    stored(check=check(line("toe", 0.8)))
    capsys.readouterr()
    assert main(["gate", "models", "--baseline", "base.json", "--growth-pct", "1e9"]) == 2
    assert "from 0 to 1,000,000" in capsys.readouterr().err


# --- a line that another one stands for, but for a factor


SCALED = {
    "by 1.002": tuple(1.002 * value for value in B),
    "by 0.9": tuple(0.9 * value for value in B),
    "by 1.3": tuple(1.3 * value for value in B),
    "two of five stations by a hundredth": (40.0, 48.0 * 1.01, 45.0 * 1.01, 44.0, 42.0),
    "reversed and halved": tuple(value / 2.0 for value in reversed(B)),
}


@pytest.mark.parametrize("figures", SCALED.values(), ids=SCALED)
@pytest.mark.parametrize("files", [1, 2])
def test_line_that_took_the_course_of_another_one_fails_whatever_its_size(
    bare: Path, capsys: pytest.CaptureFixture[str], figures: tuple[float, ...], files: int
) -> None:
    if files == 1:
        stored(check=check(row("A", A), row("B", B)))
        put(check(row("A", figures), row("B", B)))
    else:
        stored(check=check(row("A", A)), other=check(row("B", B)))
        put(check(row("A", figures)))
    code, result = gate(capsys)
    assert code == 1
    twin = "B" if files == 1 else "models/other.json, B"
    text = f"A: has the stresses of {twin} but for a factor; the baseline has lines of different courses"
    assert [shown for kind, shown in faults(result) if kind == "vanished" and shown.startswith(text)]
    assert main(STORE) == 2


def test_line_of_a_course_that_it_had_before_is_no_twin(bare: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Lines of one course are common in a symmetric design; a changed design keeps or leaves it."""
    stored(check=check(row("A", B, 1.3), row("B", B), row("flat", (50.0,) * 5), row("even", (45.0,) * 5)))
    put(check(row("A", A, 0.9), row("B", B, 0.99), row("flat", (44.0,) * 5), row("even", (43.0,) * 5)))
    assert gate(capsys)[0] == 0
    put(check(row("A", K, 0.7), row("B", K, 0.55), row("flat", (44.0,) * 5), row("even", (43.0,) * 5)))
    assert gate(capsys)[0] == 0


def test_other_course_after_a_change_is_no_twin(bare: Path, capsys: pytest.CaptureFixture[str]) -> None:
    stored(check=check(row("A", A), row("B", B)))
    put(check(row("A", (40.0, 48.0, 47.0, 44.0, 43.0)), row("B", B)))
    assert gate(capsys)[0] == 0


# --- lines renamed together with their file


@pytest.mark.parametrize("lines", [2, 1])
def test_file_and_lines_renamed_together_hide_no_growth(
    bare: Path, capsys: pytest.CaptureFixture[str], lines: int
) -> None:
    stored(x=check(row("A", A), row("B", B, kind="root"), title="bracket"))
    Path("models/x.json").unlink()
    now = [row("P", A, 1.2), row("Q", B, 1.3, kind="root")][:lines]
    put(check(*now, row("new", (*K, 50.0)), title="hanger"), "models/new.json")
    code, result = gate(capsys, "--accept-vanished", "--growth-floor", "0")
    assert (code, [kind for kind, _ in faults(result)]) == (1, ["growth"] * lines)
    text = "compared with models/x.json, A, which is checked no more: the same notch, length and course"
    assert text in at(result, "P")["notes"]
    assert at(result, "P")["growth_pct"] == pytest.approx(20.0)
    assert at(result, "new")["before"] is None


def test_line_that_moved_to_a_known_check_hides_no_growth(bare: Path, capsys: pytest.CaptureFixture[str]) -> None:
    stored(x=check(row("A", A), row("B", B)), y=check(row("C", K)))
    put(check(row("B", B)), "models/x.json")
    put(check(row("C", K), row("P", A, 1.2)), "models/y.json")
    code, result = gate(capsys, "--accept-vanished")
    assert (code, [kind for kind, _ in faults(result)]) == (1, ["growth"])


def test_looser_rules_of_another_file_are_found_at_the_line(bare: Path, capsys: pytest.CaptureFixture[str]) -> None:
    stored(x=check(row("A", A), title="bracket", target={"damage_limit": 0.5}))
    Path("models/x.json").unlink()
    put(check(row("P", A, 1.1), title="hanger", target={"damage_limit": 0.9}), "models/new.json")
    code, result = gate(capsys, "--accept-vanished")
    assert code == 1
    assert ("rules", "P: rules changed: target.damage_limit 0.5 -> 0.9") in faults(result)


def test_line_of_another_course_or_notch_in_a_new_file_is_new(bare: Path, capsys: pytest.CaptureFixture[str]) -> None:
    stored(x=check(row("A", A), title="bracket"), y=check(row("C", K)))
    Path("models/x.json").unlink()
    put(check(row("P", A, 0.6, kind="root"), row("Q", (60.0, 40.0, 30.0, 40.0, 60.0)), title="hanger"), "models/n.json")
    code, result = gate(capsys, "--accept-vanished")
    assert (code, at(result, "P")["before"], at(result, "Q")["before"]) == (0, None, None)
