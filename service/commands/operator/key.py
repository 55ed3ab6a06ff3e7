"""toeline key: keys for the callers of a service."""

from __future__ import annotations

import argparse
import json
from datetime import UTC, datetime, timedelta
from typing import Any

from ...access.keys import digest_of, new_key
from ...access.keys_file import KeyEntry, key_entry
from ...access.scopes import CALCULATIONS
from ...base.problems import Problem
from ...client.exit_codes import PASSED
from ..shared import write_text
from ..texts.help import Commands, add_command
from ..texts.parser import decimal, whole
from ..texts.telling import tell

_DAYS = 365  # that a key holds where nothing else is said [own choice]
LIMITS = ("rate_per_s", "burst", "places")


def add(commands: Commands) -> None:
    """Adds the command key."""
    text = "make a key for a team, and its line for the file of keys"
    examples = ("key new --team frames", "key new --team frames --scope check --scope stress --places 2")
    ending = "The key goes to standard error, this once; the line to standard output: >> keys.jsonl appends it."
    key = add_command(commands, "key", text, examples, ending=ending)
    key.add_argument("action", choices=["new"], help="new: a key of random letters")
    key.add_argument("--team", required=True, metavar="NAME", help="who gets it: letters, digits, dots, hyphens")
    scope = "calculations, metrics, a topic or a calculation; repeatable (default: calculations)"
    key.add_argument("--scope", action="append", metavar="WORD", help=f"what it may be used for: {scope}")
    expires = f"date and time with offset from which it is refused, or never (default: in {_DAYS} days)"
    key.add_argument("--expires", metavar="TIME", help=expires)
    key.add_argument("--rate-per-s", type=decimal, metavar="R", help="requests a second of the team in the long run")
    key.add_argument("--burst", type=whole, metavar="N", help="requests of the team at once after a rest")
    key.add_argument("--places", type=whole, metavar="N", help="heavy requests of the team under way at once")
    key.add_argument("--toml", action="store_true", help="write a table of TOML in place of a line of JSON")
    key.set_defaults(run=_key)


def _key(given: argparse.Namespace) -> int:
    key = new_key()
    limits = {name: getattr(given, name) for name in LIMITS if getattr(given, name) is not None}
    entry = {
        "team": given.team,
        "sha256": digest_of(key),
        "scopes": given.scope or [CALCULATIONS],
        "expires": given.expires or _in_days(_DAYS),
        **limits,
    }
    _guard(key_entry(entry, "the key"))
    tell(f"the key of team {given.team}, shown this once, for the header X-API-Key:\n{key}")
    tell("its entry in the file that TOELINE_KEYS_FILE names:")
    write_text(_table(entry) if given.toml else json.dumps(entry))
    return PASSED


def _guard(entry: KeyEntry) -> None:
    """Problem for an entry that would let nobody in, or that the file would not start with."""
    if entry.expires is not None and entry.expires <= datetime.now(UTC):
        raise Problem(422, f"the key: it would be refused from the start, it expires at {entry.expires.isoformat()}")
    if entry.burst is not None and entry.rate_per_s is None:
        raise Problem(422, "the key: --burst goes with --rate-per-s, of which it is what may come at once")


def _in_days(days: int) -> str:
    moment = datetime.now(UTC).replace(microsecond=0) + timedelta(days=days)
    return moment.isoformat().replace("+00:00", "Z")


def _table(entry: dict[str, Any]) -> str:
    """A table of TOML, whose texts, lists and numbers are written as those of JSON."""
    return "\n".join(["[[key]]", *(f"{name} = {json.dumps(value)}" for name, value in entry.items())])
