"""Reads a policy file, wholly or not at all."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

from pydantic import ValidationError

from fatcore.cracks.driving.law import GrowthLaw
from fatcore.cracks.driving.law_sets import guard_own_law
from fatcore.curves.curve import Curve
from fatcore.errors import FatcoreError, InputError, at
from fatcore.findings import Finding

from ..base.common import Strict
from ..base.envelope import canonical
from ..base.parsing import toml_of
from ..base.problems import Problem, from_core, from_validation
from ..base.rules.policy import SOURCE, Constants, Policy
from ..files.reading import read_bounded
from .defaults import with_defaults
from .fields import guard_fields, names_of_policy
from .models import ElementConstants, PolicyFile, given
from .sense import guard_file, guard_policy

MOST_BYTES = 1024 * 1024
_OWN = ("own_curves", "own_laws", "own_element_constants", "retardation")
_LISTED = {"own_curves": "curves", "own_laws": "laws"}  # a list of those allowed leaves out what requests bring


def read_policy(path: str | Path, digest: str = "") -> Policy:
    """The policy in a file.

    digest : that it must have, where one is given
    Raises : Problem that names the file and the place in it; OSError where it cannot be read
    """
    text = read_bounded(path, MOST_BYTES, "a policy")
    try:
        found = policy_of(text)
    except Problem as problem:
        raise Problem(problem.status, "\n".join([f"{path} is no policy:", *problem.lines()])) from problem
    if digest not in ("", found.digest):
        raise Problem(422, f"{path} has the digest {found.digest}, not {digest}: it was changed")
    return found


def policy_at(path: str, digest: str) -> Policy | None:
    """The policy of a file, None without one; the digest that it must have is empty for any.

    Raises : Problem for a digest without a file, and as `read_policy`
    """
    if not path and digest:
        raise Problem(422, "TOELINE_POLICY_DIGEST is set, but no policy is named")
    return read_policy(path, digest) if path else None


@lru_cache(maxsize=8)
def policy_of(text: bytes) -> Policy:
    """The policy in the text of a file; Problem with the place of what is wrong in it."""
    if len(text) > MOST_BYTES:
        raise Problem(413, f"a policy may have {MOST_BYTES} bytes, not {len(text)}")
    try:
        words = text.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise Problem(400, f"not UTF-8 text (byte {error.start})") from error
    data = toml_of(words, "the policy")
    try:
        file = PolicyFile.model_validate(data)
    except ValidationError as error:
        raise from_validation(error, data, PolicyFile) from error
    try:
        return _made(file, text)
    except FatcoreError as error:
        raise from_core(error) from error


def _made(file: PolicyFile, text: bytes) -> Policy:
    guard_file(file)
    allowed = given(file.allowed)
    allowed |= {f"choices.{name}": words for name, words in allowed.pop("choices").items()}
    own = {name: bool(allowed.pop(name)) for name in _OWN if name in allowed}
    own |= {name: False for name, listed in _LISTED.items() if listed in allowed and name not in own}
    policy = Policy(
        name=file.name,
        version=file.version,
        digest="sha256:" + hashlib.sha256(canonical(file)).hexdigest(),
        text=text,
        curves=dict(_curves(file)),
        laws=dict(_laws(file)),
        constants=tuple(_constants(file)),
        floors=given(file.floors),
        allowed=allowed,
        own=own,
        defaults=given(file.defaults),
        prepare=prepare,
        remake=policy_of,
    )
    guard_policy(policy)
    return policy


def prepare(policy: Policy, request: Strict) -> tuple[Strict, list[Finding]]:
    """The request with the defaults of the policy, held against its rules; and what is to be said of it."""
    filled, told = with_defaults(policy, request)
    guard_fields(policy, filled)
    return filled, [*told, *names_of_policy(policy, filled)]


def _curves(file: PolicyFile) -> Iterator[tuple[str, Curve]]:
    for name, each in file.curves.items():
        with at("curves", name):
            yield name, replace(each.named(name), source=SOURCE)


def _laws(file: PolicyFile) -> Iterator[tuple[str, GrowthLaw]]:
    for name, each in file.laws.items():
        with at("laws", name):
            guard_own_law(name)
            made: GrowthLaw = each.to_core()
            yield name, replace(made, sources=(*made.sources, SOURCE))


def _constants(file: PolicyFile) -> Iterator[Constants]:
    for index, each in enumerate(file.element_constants):
        with at("element_constants", index):
            yield _constants_of(each)


def _constants_of(each: ElementConstants) -> Constants:
    if each.lowest_angle_deg > each.highest_angle_deg:
        raise InputError("the lowest angle is above the highest", "lowest_angle_deg")
    by_mode = {mode: value for mode in ("opening", "sliding", "tearing") if (value := getattr(each, mode)) is not None}
    if not by_mode:
        raise InputError("give the constant of at least one mode", "opening")
    return Constants(
        element=each.element,
        lowest_angle_deg=each.lowest_angle_deg,
        highest_angle_deg=each.highest_angle_deg,
        by_mode=by_mode,
    )
