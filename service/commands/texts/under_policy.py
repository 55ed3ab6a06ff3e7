"""The option --policy: the company's own rules, which a command obeys like the service."""

from __future__ import annotations

import argparse
import os
from contextlib import AbstractContextManager

from ...base.problems import Problem
from ...base.rules.active import process_under
from ...base.rules.policy import Policy
from ...http.settings import guard_names
from .parser import InputFile

VARIABLE, DIGEST_VARIABLE = "TOELINE_POLICY", "TOELINE_POLICY_DIGEST"  # of the service too


def add_policy(command: argparse.ArgumentParser) -> None:
    """Adds the option."""
    text = f"obey the company's own rules in this file (TOML); default: the file that {VARIABLE} names"
    command.add_argument("--policy", type=InputFile, metavar="FILE", help=text)


def obeying(given: argparse.Namespace) -> AbstractContextManager[None]:
    """Holds the policy of a command that takes one; Problem where its file cannot be read."""
    return process_under(policy_of_command(given) if hasattr(given, "policy") else None)


def policy_of_command(given: argparse.Namespace) -> Policy | None:
    """The policy that the option names, else the environment, which may ask for a digest besides.

    Raises : Problem where the option or a variable is there and empty, or a variable is nearly one: rules were meant
    """
    try:
        guard_names(os.environ, VARIABLE[:-1])  # a pipeline may have others of its own
    except ValueError as error:
        raise Problem(422, str(error)) from error
    path = _named("--policy", given.policy)
    if path is None:
        path = _named(VARIABLE, os.environ.get(VARIABLE))
    digest = _named(DIGEST_VARIABLE, os.environ.get(DIGEST_VARIABLE))
    if path is None and digest is None:
        return None
    # imported here: the models of every topic are what most commands start without
    from ...policy.reading import policy_at

    return policy_at(path or "", digest or "")


def _named(source: str, text: str | None) -> str | None:
    if text is not None and not text.strip():
        raise Problem(422, f"{source} is empty: name the policy, or leave it out")
    return text
