"""The report of the damage sum of a spectrum."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

import numpy as np

from fatcore.curves.curve import Curve
from fatcore.errors import InputError
from fatcore.require import FloatArray
from fatcore.spectrum.damage.below_knee import below_knee_curve

from ..base.text import number
from ..topics.spectrum.damage import assess, resistance_of
from ..topics.spectrum.models import DamageAnswer, DamageRequest
from . import inputs, style
from .curve_plot import CurvePoint, band_text, curve_figure, equal_damage_range
from .exceedance_plot import exceedance_figure
from .markup import Html, facts, table, tag
from .page import Head, Section, page

METHOD = (
    "Histories are counted by rainflow, several modes by the named definition of a cycle; blocks are taken as given.",
    "Every cycle is set on the curve, with the rule below the knee and the correction for mean stress as chosen.",
    "Damage is the linear sum of count over life, times the passes.",
)


def damage_page(request: DamageRequest, content: bytes) -> str:
    """The whole page of a damage sum from its request and the bytes of its answer."""
    envelope = json.loads(content)
    answer = envelope["answer"]
    held = resistance_of(request)
    used = below_knee_curve(held.corrected, request.below_knee)
    definitions = answer["definitions"]
    sections = [
        Section("Result", [_facts(request, answer), _curve(held.given, used, answer)]),
        Section("Where the damage comes from", _parts(request, answer, used)),
        *([Section("Definitions of a cycle", _definitions(definitions))] if definitions else []),
        Section("Inputs", [inputs.list_inputs(request)]),
        Section("Method", [tag("ol", *[tag("li", step) for step in METHOD])]),
    ]
    return page(_head(request, envelope), sections, envelope)


def _head(request: DamageRequest, envelope: Mapping[str, Any]) -> Head:
    answer = envelope["answer"]
    verdict = answer["verdict"]
    where = {"pass": "within the limit", "fail": "beyond the limit"}.get(verdict, verdict)
    default = request.damage_limit is None and request.damage_limit_rule is None
    words = f"Damage {number(answer['damage'])} against a limit of {number(answer['damage_limit'])}"
    return Head(
        kind="damage of a spectrum",
        title=f"Damage on curve {_curve_name(request)}",
        verdict=verdict,
        word=f"damage {number(answer['damage'])}, {where}",
        reason=f"{words}{' (that of the curve: none was given)' if default else ''}. {_passes(answer)}",
    )


def _curve_name(request: DamageRequest) -> str:
    return request.curve if isinstance(request.curve, str) else request.curve.name


def _passes(answer: Mapping[str, Any]) -> str:
    passes = answer["life_repeats"]
    if passes is None:
        return "No range does damage."
    return f"The limit is reached after {number(passes)} passes of the spectrum."


def _facts(request: DamageRequest, answer: Mapping[str, Any]) -> Html:
    passes = answer["life_repeats"]
    reference = number(answer["reference_cycles"])
    equivalent = f"{number(answer['equivalent_range_mpa'])} MPa in {reference} cycles"
    return facts(
        {
            "damage": f"{number(answer['damage'])}, limit {number(answer['damage_limit'])}",
            "damage of a pass": answer["damage_of_pass"],
            "repeats to limit": f"{number(passes)} ({number(request.repeats)} asked)",
            "equivalent range": equivalent,
            "largest range": f"{number(answer['largest_range_mpa'])} MPa",
            "cycles": answer["total_count"],
            "without damage": f"{number(answer['idle_count'])} cycles",
        }
    )


def _curve(base: Curve, used: Curve, answer: Mapping[str, Any]) -> Html:
    constant = equal_damage_range(used, answer["total_count"], answer["damage"])
    words = [f"Curve {base.id}.", band_text(base)]
    point = None
    if constant is not None:
        largest = answer["largest_range_mpa"]
        point = CurvePoint(cycles=answer["total_count"], range_mpa=constant, largest_mpa=largest)
        words.append(
            f"Diamond: the constant range of {number(constant)} MPa that does on this curve the damage of "
            f"the spectrum in its {number(answer['total_count'])} cycles."
        )
    limit = answer["damage_limit"]
    return curve_figure(used, base, point, limit, width_mm=style.FULL_MM, caption=" ".join(words))


def _parts(request: DamageRequest, answer: Mapping[str, Any], used: Curve) -> list[Html]:
    listed = _listed(request, answer)
    if listed is None:
        return [tag("p", "There are too many cycles to list and to draw.")]
    ranges, count, share = listed
    words = "Left: how many cycles of all passes reach a range. Right: which ranges do the damage."
    picture = exceedance_figure(
        ranges,
        count * request.repeats,
        share * answer["damage"],
        cut_off_mpa=used.cut_off_mpa,
        caption=words,
    )
    return [picture] if picture else [tag("p", "No cycle has a range.")]


def _listed(request: DamageRequest, answer: Mapping[str, Any]) -> tuple[FloatArray, FloatArray, FloatArray] | None:
    """Ranges, counts of a pass and shares of all cycles: of the answer, or counted again to be listed."""
    shares = answer["cycle_shares"]
    if shares is None:
        try:
            again = assess(request.model_copy(update={"list_cycles": True})).answer
        except InputError:
            return None
        assert isinstance(again, DamageAnswer)
        assert again.cycle_shares is not None
        shares = again.cycle_shares.model_dump()
    return np.array(shares["range_mpa"]), np.array(shares["count"]), np.array(shares["cycle_share"])


def _definitions(found: Mapping[str, Any]) -> list[Html]:
    rows = [{"definition": name, "damage": value} for name, value in found["damage"].items()]
    differ = "They differ" if found["definitions_differ"] else "They agree"
    largest, ratio = found["largest_definition"], number(found["proportionality"])
    words = f"{differ}; the largest damage is that of {largest}. Proportionality {ratio}."
    return [table({"definition": "definition", "damage": "damage of a pass"}, rows), tag("p", words)]
