"""The report of the damage sum of a spectrum."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from fatcore.errors import InputError
from fatcore.require import FloatArray
from fatcore.spectrum.damage.below_knee import below_knee_curve

from ..comparison.changes import Comparison
from ..topics.spectrum.damage import assess, resistance_of
from ..topics.spectrum.limit_words import limit_origin
from ..topics.spectrum.models import DamageAnswer, DamageRequest
from .load_inputs import damage_inputs
from .page import page
from .pictures.curve import applied_point, curve_figure
from .pictures.exceedance import exceedance_figures


def damage_page(request: DamageRequest, envelope: Mapping[str, Any], *, changes: Comparison | None = None) -> str:
    """The whole page of a damage sum from its request and its answer in the envelope."""
    answer = envelope["answer"]
    resistance = resistance_of(request)
    used = below_knee_curve(resistance.corrected, request.below_knee)
    point = applied_point(used, answer["total_count"], answer["damage"], answer["largest_range_mpa"])
    cycles = _cycles(request, answer)
    found = answer["definitions"]
    return page(
        "damage.html",
        envelope,
        request=request,
        changes=changes,
        **damage_inputs(request),
        curve=resistance.given,
        point=point,
        on_curve=curve_figure(used, resistance.given, point, answer["damage_limit"]),
        listed=cycles is not None,
        exceedances=cycles and exceedance_figures(*cycles, cut_off_mpa=used.cut_off_mpa),
        limit_origin=limit_origin(request),
        definitions=found and [{"definition": name, "damage": value} for name, value in found["damage"].items()],
    )


def _cycles(request: DamageRequest, answer: Mapping[str, Any]) -> tuple[FloatArray, FloatArray, FloatArray] | None:
    """Ranges of all cycles, their counts and damage in all passes: of the answer, or counted again to be listed."""
    shares = answer["cycle_shares"]
    if shares is None:
        try:
            again = assess(request.model_copy(update={"list_cycles": True})).answer
        except InputError:
            return None
        assert isinstance(again, DamageAnswer)
        assert again.cycle_shares is not None
        shares = again.cycle_shares.model_dump()
    ranges, count, share = (np.array(shares[name]) for name in ("range_mpa", "count", "cycle_share"))
    return ranges, count * request.repeats, share * answer["damage"]
