"""Settings of a running service; every one has an environment variable TOELINE_<NAME>."""

from __future__ import annotations

import os
import re
from collections.abc import Mapping
from dataclasses import dataclass, fields

from ..base.parsing import MAX_BODY_BYTES

OF_CALLERS = {"TOELINE_API_KEY", "TOELINE_URL", "TOELINE_SOURCE"}  # of the command line, of examples, of the image
_OF_ORCHESTRATOR = re.compile(r"TOELINE_(\w+_)?(SERVICE_HOST|SERVICE_PORT\w*|PORT(_\d+_(TCP|UDP)\w*)?)")
MAY_BE_NOUGHT = {"TOELINE_MAX_WAIT_S", "TOELINE_RETRY_AFTER_S", "TOELINE_KEEP_MIB"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """What an operator may set.

    max_body_bytes     : largest request body; more answers 413
    max_running        : worker processes for heavy calculations; more of these wait, then answer 503
    max_waiting        : heavy requests that may wait for one; more answer 503 at once
    max_run_s          : seconds that a calculation may take; then it is ended and answers 503
    max_item_s         : seconds that an item of a batch may take
    max_batch_s        : seconds that a batch may take; the items that are left then answer 503
    worker_memory_mib  : memory for the data of one calculation in a worker process
    keep_mib           : memory for light answers that were given lately, which are given again; 0 keeps none [MiB]
    worker_processes   : compute heavy work in processes of its own; 0 only for tests: nothing can be ended then
    keys_file          : file of the keys of teams, with their scopes, expiry and limits
    api_keys           : keys of the team `default`, comma separated in the environment
    no_keys            : ask for no key on an address that other machines reach
    workers            : processes of the server, each of which keeps its part of the limits of a team
    audit_log          : file to which every calculation appends a line
    allow_query_key    : accept `?key=` besides the header, for spreadsheet cells that cannot send headers
    retry_after_s      : seconds that a 503 asks the caller to wait
    max_wait_s         : seconds that a request may wait for a worker process before it gets that 503
    max_connections    : connections at a time in one process; more are cut at once
    head_wait_s        : seconds in which the head of a request must have arrived
    stop_s             : seconds that running requests have when the service is told to stop
    body_wait_s        : seconds in which a request body must have arrived, and a line of a batch been taken
    policy             : file of the company's own rules, which every calculation obeys; empty means none
    policy_digest      : digest that the policy must have, else the service does not start
    """

    max_body_bytes: int = MAX_BODY_BYTES
    max_running: int = 2
    max_waiting: int = 64
    max_run_s: int = 30
    max_item_s: int = 300
    max_batch_s: int = 3600
    worker_memory_mib: int = 2048
    keep_mib: int = 16
    worker_processes: bool = True
    keys_file: str = ""
    api_keys: tuple[str, ...] = ()
    no_keys: bool = False
    workers: int = 1
    audit_log: str = ""
    allow_query_key: bool = False
    retry_after_s: int = 2
    max_wait_s: int = 30
    max_connections: int = 1000
    head_wait_s: int = 10
    stop_s: int = 30
    body_wait_s: int = 120
    policy: str = ""
    policy_digest: str = ""

    def __post_init__(self) -> None:
        if self.no_keys and (self.keys_file or self.api_keys):
            raise ValueError("TOELINE_NO_KEYS says that no key is asked for, and keys are set")

    @classmethod
    def from_environment(cls, environment: Mapping[str, str] | None = None) -> Settings:
        """Settings from TOELINE_* variables; ValueError names the variable that cannot be read."""
        given = os.environ if environment is None else environment
        guard_names(given)
        values: dict[str, object] = {}
        for field in fields(cls):
            variable = f"TOELINE_{field.name.upper()}"
            if variable in given:
                values[field.name] = _read(variable, given[variable], field.default)
        return cls(**values)  # type: ignore[arg-type]


def guard_names(environment: Mapping[str, str], prefix: str = "TOELINE_") -> None:
    """ValueError for a variable with this prefix that is no setting: a rule that was meant would not hold.

    What an orchestrator sets beside a service of this name is let be.
    """
    known = {f"TOELINE_{field.name.upper()}" for field in fields(Settings)} | OF_CALLERS
    for variable in sorted(environment):
        if variable.startswith(prefix) and variable not in known and not _OF_ORCHESTRATOR.fullmatch(variable):
            raise ValueError(f"{variable} is no setting; known are {', '.join(sorted(known))}")


def _read(variable: str, text: str, default: object) -> object:
    if isinstance(default, bool):
        if text.lower() not in {"0", "1", "true", "false"}:
            raise ValueError(f"{variable} must be 0, 1, true or false")
        return text.lower() in {"1", "true"}
    if isinstance(default, int):
        least = 0 if variable in MAY_BE_NOUGHT else 1
        if not (text.isascii() and text.isdecimal() and len(text) < 16) or int(text) < least:
            raise ValueError(f"{variable} must be a whole number of at least {least}")
        return int(text)
    if isinstance(default, str):
        if not text.strip():  # something was meant: without it the service would be open, unrecorded or without rules
            what = "the digest of a policy" if variable.endswith("_DIGEST") else "a file"
            raise ValueError(f"{variable} must name {what}, or not be set")
        return text
    keys = tuple(key.strip() for key in text.split(",") if key.strip())
    if not keys:  # keys were meant: without one everybody would be let in
        raise ValueError(f"{variable} must hold a key")
    return keys
