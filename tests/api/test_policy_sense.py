"""A policy that contradicts itself, or a file that is none, stops the start and nothing else. Own choice."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from service.base.problems import Problem
from service.cli import main
from service.policy.reading import MOST_BYTES, policy_of, read_policy

from .policies import HEAD, WORKS, obeying, policy

OWN = "[curves.works-toe]\norigin = '{}'\nrange_mpa = [90.0]\nlife_cycles = [2e6]\nslopes = [3.0]\n"
MEAN = OWN.format("tests") + "survival_probability = 0.5\n"
LAW = "[laws.'works/a']\norigin = '{}'\nunits = 'mm-MPa'\nstages = [{{ coefficient = 5e-13, exponent = 3.0 }}]\n"
CONSTANTS = (
    "[[element_constants]]\nelement = 'tet10'\nopening = 1.3\nlowest_angle_deg = 0\nhighest_angle_deg = 90\n"
    "origin = '{}'\n"
)


@pytest.mark.parametrize(
    ("text", "place"),
    [
        (
            "[defaults]\nload_factor = 0.5\npartial_factor = 1.1\n[floors]\npartial_factor = 1.1",
            "/defaults/load_factor: the partial factor that load_factor leaves 0.55 is below 1.1",
        ),
        ("[defaults]\nload_factor = 0.5\n[floors]\npartial_factor = 1.1", "/defaults/load_factor: the partial factor"),
        (
            MEAN + "[defaults]\nopening_curve = 'works-toe'\n[floors]\nsurvival_probability = 0.97",
            "/defaults/opening_curve: survival_probability of works-toe 0.5 is below 0.97",
        ),
        (
            OWN.format("tests") + "[defaults]\nshear_curve = 'works-toe'\n[floors]\nsurvival_probability = 0.97",
            "/defaults/shear_curve: works-toe states no survival probability",
        ),
        (
            "[allowed]\nelements = ['tet10']\n[allowed.choices]\nelement = ['quad4', 'tet4']",
            "/allowed/choices/element: allowed.elements leaves none of these words",
        ),
        (
            "[allowed]\nconditions = ['as-welded']\n[allowed.choices]\ncondition = ['stress-*']",
            "/allowed/choices/condition: allowed.conditions leaves none",
        ),
        (
            "[defaults]\ncondition = 'as-welded'\n[allowed.choices]\ncondition = ['stress-relieved']",
            "/defaults/condition: the condition 'as-welded' is not among those allowed",
        ),
        (OWN.format("   "), "/curves/works-toe/origin: origin needs words"),
        (OWN.format("\u200b\u200b\u2800"), "/curves/works-toe/origin: origin needs words"),
        (LAW.format("    "), "/laws/works~1a/origin: origin needs words"),
        (CONSTANTS.format("    "), "/element_constants/0/origin: origin needs words"),
    ],
)
def test_a_file_that_contradicts_itself_or_says_nothing_is_refused(text: str, place: str) -> None:
    with pytest.raises(Problem) as caught:
        policy(text)
    pointer, _, words = place.partition(": ")
    (found,) = caught.value.errors
    assert found[0] == pointer
    assert words in found[1]


def test_a_name_that_shows_nothing_is_none() -> None:
    with pytest.raises(Problem, match="version needs words"):
        policy("", "name = 'works'\nversion = '\u200b'\n")


def test_rules_that_agree_stand_beside_each_other() -> None:
    policy("[allowed]\nelements = ['tet10', 'quad4']\n[allowed.choices]\nelement = ['quad4']")
    policy(
        MEAN
        + "[defaults]\nopening_curve = 'works-toe'\nsurvival_probability = 0.98\n[floors]\nsurvival_probability = 0.97"
    )
    policy("[defaults]\nload_factor = 1.2\npartial_factor = 1.1\n[floors]\npartial_factor = 1.1")


def test_the_partial_factor_of_the_policy_needs_no_leave_for_factors_of_ones_own() -> None:
    held = policy("[defaults]\npartial_factor = 1.25\n[allowed]\ncorrections = ['partial-factor']")
    block = {"curve": "iiw-2016-normal-steel-71", "range_mpa": [60.0], "count": [1e5]}
    assert len(obeying(held, "spectrum/damage", block).request.corrections) == 1
    own = {"kind": "own", "name": "heat", "strength_factor": 0.9, "reason": "report 4"}
    with pytest.raises(Problem, match="'own' is not among those allowed"):
        obeying(held, "spectrum/damage", {**block, "corrections": [own]})


def test_curves_and_laws_of_the_policy_may_stand_in_its_lists() -> None:
    lists = "[allowed]\ncurves = ['works-toe']\nlaws = ['works/*']\n[floors]"
    assert policy_of(WORKS.replace("[floors]", lists).encode()).allowed["curves"] == ["works-toe"]


def test_a_file_that_is_nested_too_deeply_is_refused(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    file = tmp_path / "policy.toml"
    for text in (f"{HEAD}a = {'[' * 2000}{']' * 2000}", f"{HEAD}a = {'[' * 2000}", f"{HEAD}a = {'[' * 200}{']' * 200}"):
        file.write_text(text, encoding="utf-8")
        for command in (["check", "none.json"], ["serve"]):
            assert main([*command, "--policy", str(file)]) == 2
            assert "is no policy" in capsys.readouterr().err


def test_what_is_no_file_or_too_large_is_not_read_on(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    for path in (Path("/dev/zero"), pipe):
        with pytest.raises(Problem, match="is no file: a policy is read from one"):
            read_policy(path)
    with pytest.raises(OSError, match="directory"):
        read_policy(tmp_path)
    with pytest.raises(Problem, match="a policy may have"):
        policy_of(b"#" * (MOST_BYTES + 1))
