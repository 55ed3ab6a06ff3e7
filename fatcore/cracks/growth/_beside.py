"""Lives beside the one asked for, where choices of the caller make it longer: what it is without them."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import NamedTuple

from fatcore.cracks.driving.load_ratio import LoadRatioEffect
from fatcore.cracks.driving.loading import Drive
from fatcore.cracks.growth._phase import Phase
from fatcore.figures import against, as_given, rounded_down
from fatcore.findings import Finding, caution, outside

Relive = Callable[[Drive], list[Phase]]

LONGER = 1.001  # lives that differ by less are the same
LARGEST_CREDIT = 10.0  # of all choices together; beyond it they are asked what no test shows [own choice]
DOES_LESS = "criterion-does-less"
WITHOUT_RETARDATION = "life_without_retardation_cycles"


class _Credit(NamedTuple):
    """A choice that may make the life longer: in words, what is said of it, and the drive without it."""

    name: str
    said: Finding
    without: Callable[[Drive], Drive]


def credit_findings(drive: Drive, life: float | None, straight: float | None, relive: Relive) -> Iterator[Finding]:
    """Each choice with the life without it; more than `LARGEST_CREDIT` of all together is outside.

    straight : life without retardation, where the loading has it; None is infinite
    """
    plain, taken = drive, list(_credits(drive))
    beside: float | None = life
    for credit in taken:
        plain = credit.without(plain)
        retarded = credit.said.field == WITHOUT_RETARDATION
        beside = straight if retarded else _life(relive(credit.without(drive)))
        if credit.said.code != DOES_LESS or not _is_same(life, beside):
            yield replace(credit.said, message=f"{credit.said.message}; {_compared(life, beside)}")
    if len(taken) > 1:
        beside = _life(relive(plain))
    if beside is not None and (life is None or life > LARGEST_CREDIT * beside):
        names = " and ".join(credit.name for credit in taken)
        text = f"with {names} the life is more than {as_given(LARGEST_CREDIT)} times that without"
        yield outside(
            "credits-decide",
            f"{text}: {written(life, beside)} in place of {written(beside, life)}",
            field="life_cycles",
        )


def written(life: float | None, other: float | None = None) -> str:
    """A life in words, with as many digits as tell it from another one."""
    if life is None:
        return "infinite"
    return f"{rounded_down(life) if other is None else against(life, other, rounded_down)} cycles"


def _credits(drive: Drive) -> Iterator[_Credit]:
    if drive.loading.retardation is not None:
        text = "overloads slow the crack by a model that was fitted to tests of one material and order of loads"
        said = caution("retardation-counted", text, field=WITHOUT_RETARDATION)
        yield _Credit("retardation", said, _without_retardation)
    if drive.criterion != "largest":
        text = f"modes were combined by the criterion {drive.criterion}, not by the largest of all criteria"
        said = caution(DOES_LESS, text, field="criterion")
        yield _Credit(f"the criterion {drive.criterion}", said, lambda other: replace(other, criterion="largest"))
    effect = drive.law.effect
    if effect.closure and drive.law.is_own and drive.condition == "stress-relieved":
        text = (
            f"the opening function {effect.kind} takes a part of each range off: own constants must come from tests"
            " evaluated with the open part of the range"
        )
        said = caution("closure-counted", text, field="load_ratio_effect")
        yield _Credit(f"the opening function {effect.kind}", said, _without_closure)


def _without_retardation(drive: Drive) -> Drive:
    return replace(drive, loading=replace(drive.loading, retardation=None))


def _without_closure(drive: Drive) -> Drive:
    return replace(drive, law=replace(drive.law, effect=LoadRatioEffect()))


def _compared(life: float | None, beside: float | None) -> str:
    if _is_same(life, beside):
        return f"here it changes nothing: the life is {written(life)}"
    return f"without it the life is {written(beside, life)}, with it {written(life, beside)}"


def _life(phases: list[Phase]) -> float | None:
    return None if phases[-1].reason == "arrest" else phases[-1].cycles


def _is_same(life: float | None, beside: float | None) -> bool:
    if life is None or beside is None:
        return life is beside
    return life <= LONGER * beside and beside <= LONGER * life
