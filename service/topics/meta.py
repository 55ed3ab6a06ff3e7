"""Sources, findings, validation: what answers rest on and may say, and the live proof of their numbers."""

from __future__ import annotations

from dataclasses import asdict
from functools import cache

from fatcore import __version__, sources, tables
from fatcore.findings import FindingKind, catalogue
from fatcore.outcome import Outcome
from fatcore.verification import case

from ..base.common import Reply, Strict, calculations, get, reply
from ..base.derive import answer_of
from ..base.envelope import PolicyItem, SourceItem
from ..base.rules.active import active_policy
from .costs import flat

_TABLES = ("stress", "curves", "spectrum", "cracks", "trials")  # folders of tables of figures


class Nothing(Strict):
    """A request without parameters."""


class SourcesAnswer(Strict):
    """Every registered publication."""

    sources: list[SourceItem]


@answer_of(FindingKind)
class FindingKindItem(Strict):
    """One code that findings of any answer may have."""


class FindingsAnswer(Strict):
    """Every code that a finding can have, sorted."""

    finding_kinds: list[FindingKindItem]


class MapKeyItem(Strict):
    """One key of a map: what it means and takes, and what holds where it is left out."""

    key: str
    meaning: str
    unit: str
    kind: str
    default: str


class MapKeysAnswer(Strict):
    """Keys of the maps of `toeline lines`: of a table, of a solid mesh, and of the request in either."""

    table: list[MapKeyItem]
    mesh: list[MapKeyItem]
    request: list[MapKeyItem]


@answer_of(case.CaseResult)
class ValidationItem(Strict):
    """One number against the computed one; kind says where the number comes from."""


@answer_of(case.KindCount)
class KindCount(Strict):
    """Cases of one kind."""


@answer_of(case.Validation)
class ValidationAnswer(Strict):
    """Result of all verification cases of the core, counted by kind."""


class VersionAnswer(Strict):
    """What calculates here: an answer whose record has the same is calculated alike."""

    version: str
    policy: PolicyItem | None
    revisions: dict[str, int]
    tables: dict[str, str]


@get("version", Nothing, VersionAnswer, revision=1, summary="Version, revisions of calculations, tables of figures")
def version(_: Nothing) -> Reply:
    """Lists the version, the revision of every calculation and the fingerprint of every table of figures."""
    revisions = {f"{method} {name}": known.revision for (method, name), known in calculations().items()}
    names = [name for folder in _TABLES for name in tables.table_names(folder)]
    fingerprints = {name.replace("/", "_"): tables.fingerprint(name) for name in names}
    policy = active_policy()
    made_of = {"policy": None if policy is None else policy.record(), "revisions": revisions, "tables": fingerprints}
    return reply(VersionAnswer, Outcome(), version=__version__, **made_of)


@get("sources", Nothing, SourcesAnswer, revision=1, summary="Publications and how far they were confirmed")
def sources_list(_: Nothing) -> Reply:
    """Lists every publication with its citation and status."""
    return reply(SourcesAnswer, Outcome(), sources=list(sources.all_sources().values()))


@get("findings", Nothing, FindingsAnswer, revision=1, summary="Every code of a finding, and what to do")
def findings_list(_: Nothing) -> Reply:
    """Lists every code that an answer may say, each with its one severity."""
    return reply(FindingsAnswer, Outcome(), finding_kinds=list(catalogue().values()))


@get("map-keys", Nothing, MapKeysAnswer, revision=1, summary="Keys of the maps of `toeline lines`")
def map_keys_list(_: Nothing) -> Reply:
    """Lists every key of a map that makes a check of a table or a mesh, out of the models that validate it."""
    # imported here: maps hold the request of a check, whose topic is registered beside this one
    from ..mesh.map_keys import all_keys

    return reply(MapKeysAnswer, Outcome(), **{name: [asdict(row) for row in rows] for name, rows in all_keys().items()})


@get("validation", Nothing, ValidationAnswer, revision=2, summary="Verification cases, run now", cost=flat(0.5))
def validation(_: Nothing) -> Reply:
    """Runs the verification cases: numbers read in publications, recalled from them, or derived here."""
    return reply(ValidationAnswer, validation_results())


@cache
def validation_results() -> case.Validation:
    """Every verification case, computed once in this process."""
    # imported here: the cases pull in every topic, which a small command does not need
    from fatcore.verification import CASES

    return case.validate(CASES)
