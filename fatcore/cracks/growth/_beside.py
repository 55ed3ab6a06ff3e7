"""Lives beside the one asked for, where a choice of the caller makes it longer: what it is without that choice."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from fatcore.cracks.driving.law_findings import OWN
from fatcore.cracks.driving.load_ratio import LoadRatioEffect
from fatcore.cracks.driving.loading import Drive
from fatcore.cracks.growth._phase import Phase
from fatcore.findings import Finding, caution, outside

Relive = Callable[[Drive], list[Phase]]

LONGER = 1.001  # a life longer by less is the same
LARGEST_CREDIT = 10.0  # of a retardation model; beyond it the model is asked what no test of it shows [own choice]


def choice_findings(drive: Drive, life: float | None, relive: Relive) -> Iterator[Finding]:
    """A milder criterion and an opening function on own constants, each with the life without it."""
    if drive.criterion != "largest":
        beside = _life(relive(replace(drive, criterion="largest")))
        if _is_longer(life, beside):
            text = f"by the criterion {drive.criterion} the life is {written(life)}, by the largest of all criteria"
            yield caution("criterion-does-less", f"{text} {written(beside)}", field="criterion")
    effect = drive.law.effect
    if effect.closure and drive.law.name == OWN and drive.condition == "stress-relieved":
        beside = _life(relive(replace(drive, law=replace(drive.law, effect=LoadRatioEffect()))))
        text = (
            f"the opening function {effect.kind} takes a part of each range off: own constants must come from tests"
            f" evaluated with the open part of the range; without it the life is {written(beside)}, with it"
            f" {written(life)}"
        )
        yield caution("closure-counted", text, field="load_ratio_effect")


def retardation_findings(drive: Drive, life: float | None, plain: float | None) -> Iterator[Finding]:
    """What overloads do to the life; a credit beyond what tests of such models show is outside."""
    if drive.loading.retardation is None:
        return
    field = "life_without_retardation_cycles"
    text = "overloads slow the crack by a model that was fitted to tests of one material and order of loads"
    if not _is_longer(life, plain):
        yield caution("retardation-counted", f"{text}; here it changes nothing", field=field)
        return
    text += f"; without it the life is {written(plain)}, with it {written(life)}"
    yield caution("retardation-counted", text, field=field)
    if plain is not None and (life is None or life > LARGEST_CREDIT * plain):
        text = f"the retardation model makes the life more than {LARGEST_CREDIT:g} times as long"
        yield outside("retardation-decides", f"{text}: {written(life)} in place of {written(plain)}", field=field)


def written(life: float | None) -> str:
    """A life in words."""
    return "infinite" if life is None else f"{life:.4g} cycles"


def _life(phases: list[Phase]) -> float | None:
    return None if phases[-1].reason == "arrest" else phases[-1].cycles


def _is_longer(life: float | None, beside: float | None) -> bool:
    if life is None or beside is None:
        return beside is not None
    return life > LONGER * beside
