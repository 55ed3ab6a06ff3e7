"""The catalogue of design curves with its filters, and a page for each curve."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import pairwise
from typing import Any, Literal

from fatcore import quantities
from fatcore.curves.curve import Curve
from fatcore.sources import source

from ..base.finding_rows import finding_rows
from ..report.pictures.curve import curve_figure
from ..topics.curves.models import named_curve
from .page import answered, kept, laid_out

KEPT_PAGES = 300  # more than there are curves for either amplitude
FILTERS = {"document": "Standard", "stress_kind": "Stress", "material": "Material", "environment": "Environment"}
LOADING: tuple[Literal["variable", "constant"], ...] = ("variable", "constant")
USE = (
    "label", "where", "stress_kind", "material", "environment", "loading", "quantity",
    "survival_probability", "survival_definition", "sd_log10_cycles", "printed_scatter_index",
)  # fmt: skip
SHAPE = ("reference_range_mpa", "reference_energy_density_mj_m3", "cut_off_mpa", "cut_off_cycles")
RULES = (
    "thickness_reference_mm", "thickness_exponent", "thickness_exponents", "use_limit_over_yield", "miner_limit",
    "miner_note", "partial_factors", "stress_concentration_factor", "least_notch_over_structural",
)  # fmt: skip
ENERGY = "MJ/m³"


def curves_page(**filters: str) -> str:
    """The curves that fit the filters, by document; one that is left empty does not count."""
    given = {name: words for name, words in filters.items() if words.strip()}
    rows = _rows(answered("curves", given)["answer"])
    documents = dict.fromkeys(row["document"] for row in rows)
    return laid_out(
        "curves.html",
        "pages/curves",
        given={**dict.fromkeys((*FILTERS, "text"), ""), **given},
        filtered=bool(given),
        filters=FILTERS,
        choices=_choices(),
        names=_document_names(),
        every=len(_everything()),
        count=len(rows),
        groups=[(source(key), [row for row in rows if row["document"] == key]) for key in documents],
    )


def _rows(columns: Mapping[str, list[Any]]) -> list[dict[str, Any]]:
    return [dict(zip(columns, values, strict=True)) for values in zip(*columns.values(), strict=True)]


@kept()
def _everything() -> list[dict[str, Any]]:
    return _rows(answered("curves", {})["answer"])


@kept()
def _choices() -> dict[str, list[str]]:
    """The words of each filter that some curve bears."""
    return {name: list(dict.fromkeys(row[name] for row in _everything() if row[name])) for name in FILTERS}


@kept()
def _document_names() -> dict[str, str]:
    """Title of each document as its curves have it before the colon."""
    return {row["document"]: row["title"].partition(":")[0] for row in _everything()}


@kept(KEPT_PAGES)
def curve_page(*, curve: str, loading: str = "variable") -> str:
    """One curve: what it is for, its picture, its figures with units and meaning, the rules of its document."""
    envelope = answered("curves/{curve}", {"curve": curve, "loading": loading})
    answer = envelope["answer"]
    either: dict[str, Curve] = {word: named_curve(curve, loading=word) for word in LOADING}
    shown = either[loading]
    return laid_out(
        "curve.html",
        f"pages/curves/{curve}",
        answer=answer,
        curve=shown,
        loading=loading,
        picture=curve_figure(shown, shown, None, 1.0),
        other=[word for word, each in either.items() if each != shown],
        energy=shown.quantity != "stress range",
        branches=list(_branches(shown)),
        tables={
            "What it is for": list(_facts(answer, USE)),
            "Figures": list(_facts(answer, SHAPE)),
            "Rules of use in its document": list(_facts(answer, RULES)),
        },
        findings=finding_rows(envelope["findings"]),
        record=envelope["record"],
    )


def _facts(answer: Mapping[str, Any], names: tuple[str, ...]) -> Iterator[dict[str, Any]]:
    """What is known, one value a row; of a mapping one row for each of its names."""
    for name in names:
        kept = quantities.quantity(name)
        unit = ENERGY if answer["quantity"] != "stress range" and name.endswith("_mpa") else kept.unit.strip("-")
        for below, value in _values(answer[name]):
            meaning = f"{kept.meaning}: {below}" if below else kept.meaning
            yield {"name": name, "value": value, "unit": unit.replace("^3", "³"), "meaning": meaning}


def _values(value: Any, below: str = "") -> Iterator[tuple[str, Any]]:
    if isinstance(value, Mapping):
        for name, item in value.items():
            yield from _values(item, f"{below}, {name.replace('-', ' ')}".lstrip(", "))
    elif value not in (None, ""):
        yield below, value


def _branches(curve: Curve) -> Iterator[dict[str, float | None]]:
    """Each branch with its ends; None where it has none."""
    ranges = (None, *curve.knees_mpa, curve.cut_off_mpa)
    lives = (None, *curve.knee_cycles(), curve.cut_off_cycles())
    parts = zip(pairwise(ranges), pairwise(lives), curve.slopes, curve.log10_constants, strict=True)
    for (high, low), (start, end), slope, constant in parts:
        yield {"high": high, "low": low, "start": start, "end": end, "slope": slope, "log10_constant": constant}
