"""Where a permissible damage sum comes from, in words."""

from __future__ import annotations

import math

from ...base.rules.active import active_policy
from ..curves.resistance import limit_from
from .damage import resistance_of
from .models import DamageRequest

# origins of limits that no document states, by their source
_UNSTATED = {"damage-limit-unstated": "by default", "palmgren-miner": "of one constant range"}


def limit_origin(request: DamageRequest) -> str:
    """Where the limit comes from, and the words of what states it."""
    limit = limit_from(request, resistance_of(request).curve, request.loading)
    policy = active_policy()
    if policy is not None and request.damage_limit == policy.defaults.get("damage_limit", math.nan):
        return f"by the policy {policy.label}" + limit.case.removeprefix("as given")
    if request.damage_limit is not None:
        return "given in the request" + limit.case.removeprefix("as given")
    if request.damage_limit_rule is not None:
        return f"of the document named in the request ({limit.case})"
    unstated = [words for source, words in _UNSTATED.items() if source in limit.sources]
    return f"{unstated[0] if unstated else 'of the document of the curve'} ({limit.case})"
