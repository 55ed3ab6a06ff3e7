"""What a policy file must not say: names and words that fit nothing, and rules that contradict each other."""

from __future__ import annotations

from collections.abc import Iterable
from fnmatch import fnmatchcase

from fatcore.alike import alike, as_read
from fatcore.cracks.driving.law import OWN
from fatcore.cracks.driving.law_sets import law_names
from fatcore.curves.standards import catalogue
from fatcore.errors import InputError, UnknownError, at

from ..base.rules.policy import Policy
from .models import PolicyFile
from .words import CORRECTION_KIND, words_of_requests

OWN_CURVE = "own"  # what a curve without a name is called
# lists of words whose field may have a list of `choices` besides
FIELD_OF = {
    "below_knee": "below_knee",
    "conditions": "condition",
    "elements": "element",
    "residue": "residue",
    "variable_sets": "variable_set",
}


def guard_file(file: PolicyFile) -> None:
    """InputError for names that cannot be told apart, and for words that show nothing."""
    _guard_seen(name=file.name, version=file.version)
    for table, unnamed, entries in (("curves", OWN_CURVE, file.curves), ("laws", OWN, file.laws)):
        with at(table):
            _guard_names(entries, unnamed)
            for name, entry in entries.items():
                with at(name):
                    _guard_seen(origin=entry.origin)
    for index, each in enumerate(file.element_constants):
        with at("element_constants", index):
            _guard_seen(origin=each.origin)


def guard_policy(policy: Policy) -> None:
    """InputError for what fits nothing; PolicyError for what the policy's own rules forbid."""
    _guard_patterns(policy)
    _guard_words(policy)
    _guard_choices(policy)
    _guard_defaults(policy)
    _guard_default_factors(policy)


def _guard_seen(**words: str) -> None:
    for name, text in words.items():
        if not as_read(text):
            raise InputError(f"{name} needs words", name)


def _guard_names(names: Iterable[str], unnamed: str) -> None:
    """InputError for a name that looks like another one, or like what requests call their own without a name."""
    before: list[str] = []
    for name in names:
        if alike(name, [unnamed]) is not None:
            raise InputError(f"requests call one of their own {unnamed!r}: choose another name", name)
        other = alike(name, before)
        if other is not None:
            raise InputError(f"{name!r} looks like {other!r}: choose names that can be told apart", name)
        before.append(name)


def _guard_patterns(policy: Policy) -> None:
    """InputError for a pattern of curves or laws that fits none: a letter that is wrong would forbid what was meant."""
    known = {"curves": (*catalogue.all_ids(), *policy.curves), "laws": (*law_names(), *policy.laws)}
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


def _guard_choices(policy: Policy) -> None:
    """InputError for a list of choices of which another list about the same field leaves nothing."""
    for rule, field in FIELD_OF.items():
        lists = [policy.allowed.get(name) for name in (rule, f"choices.{field}")]
        known = words_of_requests().get(field, set())
        if None not in lists and not any(all(_fits(word, patterns or ()) for patterns in lists) for word in known):
            raise InputError(f"allowed.{rule} leaves none of these words", "allowed", "choices", field)


def _fits(word: str, patterns: Iterable[str]) -> bool:
    return any(fnmatchcase(word, pattern) for pattern in patterns)


def _guard_default_factors(policy: Policy) -> None:
    """PolicyError for a factor on loads by default that takes away what the partial factor must have."""
    defaults, least = policy.defaults, policy.floors.get("partial_factor")
    if "load_factor" in defaults and least is not None:
        factor = defaults.get("partial_factor", least) * min(1.0, defaults["load_factor"])
        text = "the partial factor that load_factor leaves"
        policy.guard_least("partial_factor", factor, text, "defaults", "load_factor")


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
            for rule in ("conditions", "choices.condition"):
                policy.guard_word(rule, defaults["condition"], "the condition", "condition")
        for name in ("opening_curve", "shear_curve"):
            if name in defaults:
                with at(name):
                    curve = policy.curves.get(defaults[name]) or catalogue.find_curve(defaults[name])
                    policy.guard_curve(curve)
                    policy.guard_survival(defaults.get("survival_probability"), curve)
