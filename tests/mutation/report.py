"""What a mutation run says: one line a mutant, survivors with their change, rates by topic and operator."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence

from .mutant import Mutant
from .trial import Outcome


def described(mutant: Mutant) -> str:
    where = f"{mutant.file}:{mutant.lines[0]}"
    return "\n    ".join([f"{mutant.topic} / {mutant.operator}  {where}", *mutant.diff()])


def line(outcome: Outcome) -> str:
    place = f"{outcome.mutant.file}:{outcome.mutant.lines[0]}"
    return f"{outcome.verdict:9} {outcome.seconds:6.1f} s  {outcome.mutant.operator:12} {place}  {outcome.by}"


def summary(outcomes: Sequence[Outcome], population: int) -> str:
    """Rates count a kill by a replayed answer as not noticed, and show it apart."""
    judged = [each for each in outcomes if each.verdict != "stillborn"]
    parts = ["", f"{len(judged)} mutants of {population}"]
    parts += ["", "by topic", *_rates(judged, lambda each: each.mutant.topic)]
    parts += ["", "by operator", *_rates(judged, lambda each: each.mutant.operator)]
    parts += ["", "in all", *_rates(judged, lambda each: "all")]
    for verdict, title in (("survived", "survivors"), ("snapshot", "noticed by replayed answers only")):
        found = [each for each in judged if each.verdict == verdict]
        parts += ["", title, *(f"{described(e.mutant)}\n    {e.tests} tests" for e in found)] if found else []
    return "\n".join(parts)


def _rates(outcomes: Iterable[Outcome], group_of: object) -> list[str]:
    groups: dict[str, list[str]] = defaultdict(list)
    for each in outcomes:
        groups[group_of(each)].append(each.verdict)  # type: ignore[operator]
    rows = []
    for name, verdicts in sorted(groups.items()):
        noticed, replayed = verdicts.count("noticed"), verdicts.count("snapshot")
        share = 100.0 * noticed / len(verdicts)
        rows.append(f"  {name:14} {noticed:4} of {len(verdicts):4}  {share:5.1f} %  (+ {replayed} replayed)")
    return rows
