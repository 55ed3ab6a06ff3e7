"""The policy file: read wholly or not at all, and its digest. Own choice throughout."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from service.base.problems import Problem
from service.policy.reading import policy_at, policy_of, read_policy

from .policies import HEAD, WORKS, policy


def works() -> Any:
    return policy_of(WORKS.encode())


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("name = 'works'\nversion = '1'\nfloor = 1", "/floor: unknown key"),
        ("name = 'works'", "/version: version is needed"),
        ("name = 'works'\nversion = 3", "/version: version must be a text"),
        (HEAD + "[floors]\ndamage_limit = 1.5", "/floors/damage_limit: damage_limit must be 1 or less"),
        (HEAD + "[floors]\nsurvival_probability = nan", "/floors/survival_probability: "),
        (HEAD + "[floors]\ndamage_limit = '0.5'", "/floors/damage_limit: damage_limit must be a number"),
        (HEAD + "[curves.a]\nslopes = [3.0]", "/curves/a/origin: origin is needed"),
        (HEAD + "[curves.a]\norigin = 'tests'\nslopes = [3.0]", "/curves/a/range_mpa: give points"),
        (HEAD + "[curves.'a/b']\norigin = 'tests'", "/curves"),
        (
            HEAD
            + "[curves.peak-stress-opening]\norigin = 'tests'\nrange_mpa = [90.0]\nlife_cycles = [2e6]\nslopes=[3.0]",
            "/curves/peak-stress-opening/name: 'peak-stress-opening' is a curve of the catalogue",
        ),
        (HEAD + "[laws.own]\norigin = 'tests'", "/laws/own/stages: give the name"),
        (
            HEAD + "[laws.'iiw-2016/steel']\norigin = 'tests'\nunits = 'mm-MPa'\n"
            "stages = [{ coefficient = 5e-13, exponent = 3.0 }]",
            "/laws/iiw-2016~1steel/name: 'iiw-2016/steel' looks like the published growth law",
        ),
        (HEAD + "[allowed]\ncurves = ['iiw-2016-*', 'dnv-1899-*']", "/allowed/curves/1: unknown curve"),
        (HEAD + "[allowed]\nlaws = ['paris']", "/allowed/laws/0: unknown law"),
        (HEAD + "[allowed]\nconditions = ['welded']", "/allowed/conditions/0: "),
        (HEAD + "[defaults]\nopening_curve = 'works-toe'", "/defaults/opening_curve: unknown curve"),
        (HEAD + "[defaults]\ndamage_limit = 0.6\n[floors]\ndamage_limit = 0.5", "/defaults/damage_limit: damage_limit"),
        (HEAD + "[defaults]\ninspections = 1\n[floors]\ninspections = 2", "/defaults/inspections: inspections 1"),
        (
            HEAD + "[defaults]\ncondition = 'stress-relieved'\n[allowed]\nconditions = ['as-welded']",
            "/defaults/condition: the condition 'stress-relieved' is not among those allowed",
        ),
        (
            HEAD
            + "[[element_constants]]\nelement = 'tet10'\nlowest_angle_deg = 0\nhighest_angle_deg = 90\norigin='r 1'",
            "/element_constants/0/opening: give the constant",
        ),
        (
            HEAD + "[[element_constants]]\nelement = 'tet10'\nopening = 1.0\nlowest_angle_deg = 90\n"
            "highest_angle_deg = 0\norigin = 'r 1'",
            "/element_constants/0/lowest_angle_deg: the lowest",
        ),
        ("name = works", "the policy is not TOML: line 1"),
        (HEAD + "[allowed]\ncorrections = ['partial-factors']", "/allowed/corrections/0: unknown corrections"),
        (HEAD + "[allowed]\nresidue = ['open']", "/allowed/residue/0: unknown residue"),
        (
            HEAD + "[allowed.choices]\ninteraction = ['none-of-it']",
            "/allowed/choices/interaction/0: unknown interaction",
        ),
        (HEAD + "[allowed.choices]\nstrain = ['a']", "/allowed/choices/strain: unknown choice of a request"),
    ],
)
def test_a_file_that_cannot_hold_is_refused_as_a_whole_with_its_place(tmp_path: Path, text: str, place: str) -> None:
    file = tmp_path / "policy.toml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(Problem) as caught:
        read_policy(file)
    words = caught.value.detail
    assert words.startswith(f"{file} is no policy:"), words
    head, _, message = place.partition(": ")
    assert head in words
    assert message in words


def test_a_file_that_is_too_large_or_no_text_is_refused(tmp_path: Path) -> None:
    file = tmp_path / "policy.toml"
    file.write_bytes(b"#" * (1024 * 1024 + 1))
    with pytest.raises(Problem, match="a policy may have"):
        read_policy(file)
    file.write_bytes(b"name = '\xff'")
    with pytest.raises(Problem, match="not UTF-8"):
        read_policy(file)


def test_the_digest_is_of_what_a_file_says_and_not_of_how_it_is_written(tmp_path: Path) -> None:
    one = policy("[floors]\ndamage_limit = 0.5\nconfidence = 0.9")
    other = policy("# a remark\n[floors]\nconfidence = 0.90\ndamage_limit = 5e-1\n")
    assert one.digest == other.digest
    assert policy("[floors]\ndamage_limit = 0.5\nconfidence = 0.91").digest != one.digest
    assert one.digest.startswith("sha256:")


def test_a_digest_that_is_asked_for_must_be_that_of_the_file(tmp_path: Path) -> None:
    file = tmp_path / "policy.toml"
    file.write_text(HEAD, encoding="utf-8")
    digest = read_policy(file).digest
    assert read_policy(file, digest).digest == digest
    with pytest.raises(Problem, match="it was changed"):
        read_policy(file, "sha256:0")
    with pytest.raises(Problem, match="no policy is named"):
        policy_at("", digest)
    assert policy_at("", "") is None


def test_another_process_makes_the_same_policy_from_what_it_is_sent() -> None:
    held = works()
    assert held.maker()().digest == held.digest
