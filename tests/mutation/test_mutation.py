"""The mutation runner itself: which changes it makes, what it picks, that it puts every file back."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from . import trial
from .code_mutants import code_mutants
from .durations import TARGET
from .mutant import Mutant, topic_of
from .reach import Reach, digest
from .report import summary
from .selection import chosen
from .table_mutants import table_mutants
from .trial import Outcome, try_out

CODE = '''"""Doc."""

from typing import Literal

__all__ = ["f"]
Word = Literal["long", "short"]
LIMIT = 25.0


class Options:
    kind: Word = "long"


def f(size_mm, over=True, *, least=2.0):
    """Doc 3.0."""
    if size_mm < LIMIT and over:
        return max(size_mm, least)
    if not over:
        raise ValueError(f"{size_mm + 1}")
    found.append(size_mm)
    return {"a": g(size_mm, least), "b": -h}["a"] / 2
'''
EXPECTED = {
    ("constant", "LIMIT = 25.25"),
    ("default", "kind: Word = 'short'"),
    ("default", "def f(size_mm, over=False, *, least=2.0):"),
    ("default", "def f(size_mm, over=True, *, least=2.02):"),
    ("boundary", "if (size_mm <= LIMIT) and over:"),
    ("logic", "if ((size_mm < LIMIT) or (over)):"),
    ("negation", "if not (size_mm < LIMIT and over):"),
    ("negation", "if (over):"),
    ("dropped", "pass"),
    ("extreme", "return min(size_mm, least)"),
    ("dispatch", 'return {"a": -h, "b": -h}["a"] / 2'),
    ("arguments", 'return {"a": g(least, size_mm), "b": -h}["a"] / 2'),
    ("arithmetic", 'return {"a": g(size_mm, least), "b": (h)}["a"] / 2'),
    ("constant", 'return {"a": g(size_mm, least), "b": -h}["a"] / 3'),
}


def test_code_is_changed_in_every_way_and_messages_are_not() -> None:
    found = code_mutants("fatcore/x.py", CODE)
    made = {(m.operator, line[2:]) for m in found for line in m.diff() if line.startswith("+")}
    assert made >= EXPECTED
    assert sum(m.operator == "dropped" for m in found) == 3  # a return, a raise, a call
    assert not any("ValueError" in line and "+ 2" in line for _, line in made)
    for mutant in found:
        compile(mutant.text, "mutant", "exec")
        assert mutant.text.count("\n") == CODE.count("\n")


def test_letters_of_two_bytes_do_not_move_the_change() -> None:
    (mutant,) = code_mutants("fatcore/x.py", 'å = "°" if 2 == s else None\n')[:1]
    assert mutant.diff()[1] == '+ å = "°" if (2 != s) else None'


TABLE = """# words 9.0
revision = 3
title = "a title 5.0"
kind = "lognormal"
mean = 0.11  # of 12 tests

[[row]]
class = "E"
kind = "normal"
slopes = [3.0, 5.0]
rows = [
    ["0.2", "1.173"],
]
"""


def test_numbers_and_words_of_a_table_are_changed_one_at_a_time() -> None:
    found = table_mutants("fatcore/data/curves/x.toml", TABLE)
    numbers = [m.diff() for m in found if m.operator == "table number"]
    assert len(numbers) == 5
    assert all(len(diff) == 2 for diff in numbers)
    words = [m.diff()[1] for m in found if m.operator == "table word"]
    assert words == ['+ kind = "normal"', '+ kind = "lognormal"']


def test_sample_is_seeded_and_gives_every_operator_its_turn() -> None:
    mutants = code_mutants("fatcore/x.py", CODE)
    once, again, other = (chosen(mutants, 10, seed) for seed in (1, 1, 2))
    assert once == again != other
    assert {m.operator for m in once} == {m.operator for m in mutants}
    assert chosen(mutants, 0, 1) == mutants


@pytest.mark.parametrize(
    ("file", "topic"),
    [
        ("fatcore/curves/own.py", "curves"),
        ("fatcore/errors.py", "ground"),
        ("fatcore/data/cracks/laws.toml", "cracks"),
        ("service/topics/curves/models.py", "curves"),
        ("service/topics/check/growth.py", "check"),
        ("service/report/pictures/style.py", "report"),
        ("service/client/retrying.py", "service"),
    ],
)
def test_topic_of_a_file(file: str, topic: str) -> None:
    assert topic_of(file) == topic


def mutant_of(text: str, *lines: int, source: str = CODE, name: str | None = None) -> Mutant:
    return Mutant(file="fatcore/curves/x.py", lines=lines, operator="o", source=source, text=text, name=name)


REACH = Reach(
    tests={
        "tests/core/test_stress_a.py::one": 0.1,
        "tests/api/test_examples.py::two": 0.0,
        "tests/core/test_curves_a.py::three": 9.0,
    },
    lines={"fatcore/curves/x.py": {"16": [0, 1, 2], "17": [1], "14": []}},
    digests={"fatcore/curves/x.py": digest(CODE)},
)


def test_only_tests_that_run_the_line_are_tried_those_of_the_topic_first_and_snapshots_last() -> None:
    one, two, three = REACH.names
    assert REACH.tests_of(mutant_of("", 16)) == [three, one, two]
    assert REACH.tests_of(mutant_of("", 17)) == [two]
    assert REACH.tests_of(mutant_of("", 7, name="LIMIT")) == [three, one, two]  # where the name is read
    assert REACH.tests_of(mutant_of("", 17, source=CODE + "\n")) == [three, one, two]  # newer than the map
    unknown = Mutant(file="fatcore/curves/y.py", lines=(1,), operator="o", source="x", text="y")
    assert REACH.tests_of(unknown) == [three]  # by topic


def test_a_trial_tells_what_noticed_and_restores_the_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    target = tmp_path / "fatcore/curves/x.py"
    target.parent.mkdir(parents=True)
    target.write_text(CODE, encoding="utf-8")
    ran: list[str] = []

    def failing(tree: Path, tests: list[str], limit: float) -> str:
        assert (tree / "fatcore/curves/x.py").read_text(encoding="utf-8") == "x = 1\n"
        ran.extend(tests)
        return culprits[-1] if culprits[-1] in tests else ""

    monkeypatch.setattr(trial, "_first_failure", failing)
    verdicts, culprits = [], [""]
    for name in (REACH.names[0], REACH.names[1], "none"):
        culprits.append(name)
        outcome = try_out(mutant_of("x = 1\n", 16), tmp_path, REACH, 60.0)
        verdicts.append(outcome.verdict)
        assert target.read_text(encoding="utf-8") == CODE
    assert verdicts == ["noticed", "snapshot", "survived"]
    assert try_out(mutant_of("x = (", 16), tmp_path, REACH, 60.0).verdict == "stillborn"
    assert len(ran) == 2 + 3 + 3


def test_rates_count_replayed_answers_apart() -> None:
    outcomes = [
        Outcome(mutant_of("x\n", 16), verdict, 3, 1.0)  # type: ignore[arg-type]
        for verdict in ("noticed", "noticed", "snapshot", "survived", "stillborn")
    ]
    text = summary(outcomes, 40)
    assert "4 mutants of 40" in text
    assert "2 of    4   50.0 %  (+ 1 replayed)" in text
    assert TARGET.isupper()


def test_changes_that_do_not_matter_name_a_file_two_texts_and_a_reason() -> None:
    root = Path(__file__).parents[2]
    listed = tomllib.loads((Path(__file__).parent / "equivalents.toml").read_text(encoding="utf-8"))["equivalent"]
    for entry in listed:
        assert set(entry) == {"file", "before", "after", "reason"}
        assert (root / entry["file"]).is_file(), entry
