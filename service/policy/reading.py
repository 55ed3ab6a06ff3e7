"""Reads a policy file, wholly or not at all."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import replace
from fnmatch import fnmatchcase
from functools import lru_cache
from pathlib import Path

from pydantic import ValidationError

from fatcore.alike import alike
from fatcore.cracks.driving.law import OWN, GrowthLaw
from fatcore.cracks.driving.law_sets import guard_own_law, law_names
from fatcore.curves.curve import Curve
from fatcore.curves.standards import catalogue
from fatcore.errors import FatcoreError, InputError, UnknownError, at
from fatcore.findings import Finding

from ..base.common import Strict
from ..base.envelope import canonical
from ..base.parsing import toml_of
from ..base.problems import Problem, from_core, from_validation
from ..base.rules.policy import SOURCE, Constants, Policy
from .defaults import with_defaults
from .fields import guard_fields, names_of_policy
from .models import ElementConstants, PolicyFile, given
from .words import CORRECTION_KIND, words_of_requests

MOST_BYTES = 1024 * 1024
_OWN = ("own_curves", "own_laws", "own_element_constants", "retardation")
_LISTED = {"own_curves": "curves", "own_laws": "laws"}  # a list of those allowed leaves out what requests bring


def read_policy(path: str | Path, digest: str = "") -> Policy:
    """The policy in a file.

    digest : that it must have, where one is given
    Raises : Problem that names the file and the place in it; OSError where it cannot be read
    """
    size = Path(path).stat().st_size
    if size > MOST_BYTES:
        raise Problem(413, f"{path}: a policy may have {MOST_BYTES} bytes, not {size}")
    try:
        found = policy_of(Path(path).read_bytes())
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
    _guard_patterns(policy)
    _guard_words(policy)
    _guard_defaults(policy)
    return policy


def prepare(policy: Policy, request: Strict) -> tuple[Strict, list[Finding]]:
    """The request with the defaults of the policy, held against its rules; and what is to be said of it."""
    filled, told = with_defaults(policy, request)
    guard_fields(policy, filled)
    return filled, [*told, *names_of_policy(policy, filled)]


def _curves(file: PolicyFile) -> Iterator[tuple[str, Curve]]:
    for name, each in file.curves.items():
        with at("curves", name):
            _guard_name(name, "own", [other for other in file.curves if other != name])
            yield name, replace(each.named(name), source=SOURCE)


def _laws(file: PolicyFile) -> Iterator[tuple[str, GrowthLaw]]:
    for name, each in file.laws.items():
        with at("laws", name):
            guard_own_law(name)
            _guard_name(name, OWN, [other for other in file.laws if other != name])
            made: GrowthLaw = each.to_core()
            yield name, replace(made, sources=(*made.sources, SOURCE))


def _guard_name(name: str, unnamed: str, others: Sequence[str]) -> None:
    """InputError for a name that looks like another one of the file, or like what requests call what has no name.

    unnamed : that name
    """
    if alike(name, [unnamed]) is not None:
        raise InputError(f"requests call one of their own {unnamed!r}: choose another name", "name")
    other = alike(name, others)
    if other is not None:
        raise InputError(f"{name!r} looks like {other!r}: choose names that can be told apart", "name")


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


def _guard_patterns(policy: Policy) -> None:
    """InputError for a pattern of curves or laws that fits none: a letter that is wrong would forbid what was meant."""
    known = {"curves": catalogue.all_ids(), "laws": law_names()}
    for rule, names in known.items():
        for index, pattern in enumerate(policy.allowed.get(rule, ())):
            if not any(fnmatchcase(name, pattern) for name in names):
                raise UnknownError(rule.removesuffix("s"), pattern, names, "allowed", rule, index)


def _guard_words(policy: Policy) -> None:
    """InputError for a word that no request may have, and for the name of a field that no request has."""
    known = words_of_requests()
    with at("allowed"):
        for rule, listed in policy.allowed.items():
            path = tuple(rule.split(".", 1))
            name = {"corrections": CORRECTION_KIND}.get(rule, path[-1])
            if path[0] == "choices" and name not in known:
                raise UnknownError("choice of a request", name, known, *path)
            for index, word in enumerate(listed):
                if name in known and not any(fnmatchcase(each, word) for each in known[name]):
                    raise UnknownError(path[-1].replace("_", " "), word, known[name], *path, index)


def _guard_defaults(policy: Policy) -> None:
    """PolicyError for a default that the policy's own rules forbid; UnknownError for a curve that is none."""
    defaults = policy.defaults
    with at("defaults"):
        for name in ("survival_probability", "partial_factor", "load_factor", "inspections"):
            if name in defaults:
                policy.guard_least(name, defaults[name], name, name)
        if "damage_limit" in defaults:
            policy.guard_largest("damage_limit", defaults["damage_limit"], "damage_limit", "damage_limit")
        if "condition" in defaults:
            policy.guard_word("conditions", defaults["condition"], "the condition", "condition")
        for name in ("opening_curve", "shear_curve"):
            if name in defaults:
                with at(name):
                    policy.guard_curve(policy.curves.get(defaults[name]) or catalogue.find_curve(defaults[name]))
