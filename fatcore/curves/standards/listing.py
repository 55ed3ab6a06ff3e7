"""The catalogue as columns, filtered."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated

from annotated_types import doc

from fatcore.curves.standards.catalogue import Description, all_ids, describe_curve
from fatcore.errors import UnknownError
from fatcore.outcome import Outcome, evidence
from fatcore.sources import source


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Listing(Outcome):
    """One entry a curve in every column.

    document            : source key of the curve; status: how far that source is confirmed
    reference_range_mpa : range at 2e6 cycles; None for a curve of energy density, and vice versa
    """

    id: tuple[str, ...]
    title: tuple[str, ...]
    document: tuple[str, ...]
    stress_kind: tuple[str, ...]
    material: tuple[str, ...]
    environment: tuple[str, ...]
    reference_range_mpa: tuple[float | None, ...]
    reference_energy_density_mj_m3: tuple[float | None, ...]
    status: tuple[str, ...]


def list_curves(
    *,
    document: Annotated[str | None, doc("key of the document, like iiw-2016")] = None,
    stress_kind: Annotated[str | None, doc("normal, shear, hot-spot, peak-stress, ...")] = None,
    material: Annotated[str | None, doc("steel, aluminium, ...")] = None,
    environment: Annotated[str | None, doc("air, seawater-protected, free-corrosion")] = None,
    text: Annotated[str | None, doc("part of the id or title")] = None,
    further: Sequence[Description] = (),
) -> Listing:
    """The curves that fit every filter that is given, in the order of the documents.

    text    : in letters of either case
    further : curves that are listed behind those of the catalogue
    Raises  : UnknownError for a word of a filter that no curve bears
    """
    wanted = {
        "document": document, "stress_kind": stress_kind, "material": material, "environment": environment
    }  # fmt: skip
    everything = [describe_curve(each) for each in all_ids()] + list(further)
    _guard_words(everything, wanted)
    found = [each for each in everything if _fits(each, wanted) and _mentions(each, text)]
    curves = [each.curve for each in found]
    return Listing(
        id=tuple(curve.id for curve in curves),
        title=tuple(curve.title for curve in curves),
        document=tuple(curve.source for curve in curves),
        stress_kind=tuple(curve.stress_kind for curve in curves),
        material=tuple(curve.material for curve in curves),
        environment=tuple(each.environment for each in found),
        reference_range_mpa=tuple(each.reference_range_mpa for each in found),
        reference_energy_density_mj_m3=tuple(each.reference_energy_density_mj_m3 for each in found),
        status=tuple(source(curve.source).status for curve in curves),
        **evidence(
            sources=[curve.source for curve in curves],
            tables=[curve.table for curve in curves if curve.table],
        ),
    )


def _guard_words(everything: list[Description], wanted: dict[str, str | None]) -> None:
    for name, word in wanted.items():
        known = {_words(each)[name] for each in everything}
        if word is not None and word not in known:
            raise UnknownError(name.replace("_", " "), word, known, name)


def _fits(each: Description, wanted: dict[str, str | None]) -> bool:
    has = _words(each)
    return all(word is None or has[name] == word for name, word in wanted.items())


def _words(each: Description) -> dict[str, str]:
    return {
        "document": each.curve.source,
        "stress_kind": each.curve.stress_kind,
        "material": each.curve.material,
        "environment": each.environment,
    }


def _mentions(each: Description, text: str | None) -> bool:
    return text is None or text.lower() in f"{each.curve.id} {each.curve.title}".lower()
