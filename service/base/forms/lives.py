"""Lives as texts: beside what is asked, in service, and without what makes them longer."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from fatcore.figures import beside_asked, rounded_down

# what a life would be without a choice that makes it longer, by the field of the answer
WITHOUT = {
    "life_without_retardation_cycles": "without retardation",
    "constant_load_life_cycles": "without load sharing",
    "life_without_compression_cycles": "without lasting compression",
}


def asked_text(value: float | None, asked: float) -> str:
    """A life with what is asked of it, and enough digits to tell on which side of that it is.

    >>> asked_text(16.123, 10.0), asked_text(0.9999999999999998, 1.0), asked_text(None, 2e6)
    ('16.1 (10 asked)', 'just below 1 (1 asked)', 'infinite (2,000,000 asked)')
    """
    return "{} ({} asked)".format(*beside_asked(value, asked))


def service_text(life: Mapping[str, Any]) -> str:
    """A life in the unit of one repeat, with what is asked.

    >>> service_text({"value": 12345.6, "asked": 5000.0, "unit": "hours"})
    '12,300 hours (5000 asked)'
    """
    if life["asked"] is None:
        return f"{rounded_down(life['value'])} {life['unit']}"
    value, asked = beside_asked(life["value"], life["asked"])
    return f"{value} {life['unit']} ({asked} asked)"


def cycles_text(cycles: float | None) -> str:
    """A computed life in cycles, which never reads longer than it is.

    >>> cycles_text(10984000.3), cycles_text(None)
    ('10,900,000 cycles', 'infinite')
    """
    return "infinite" if cycles is None else f"{rounded_down(cycles)} cycles"


def life_facts(growth: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """The life of a crack and what it is without each choice, in repeats and in service; names and texts.

    >>> dict(life_facts({"life_cycles": 2e6, "life_blocks": 199.99, "service_life": None}))
    {'life': '2,000,000 cycles', 'life in repeats': '199'}
    """
    yield "life", cycles_text(growth["life_cycles"])
    yield from ((f"life {words}", life) for words, life in without_choices(growth))
    if "repeats_asked" in growth:
        yield "life in repeats", asked_text(growth["life_repeats"], growth["repeats_asked"])
    elif growth["life_blocks"] not in (None, growth["life_cycles"]):
        yield "life in repeats", rounded_down(growth["life_blocks"])
    if growth["service_life"] is not None:
        yield "life in service", service_text(growth["service_life"])


def without_choices(growth: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """The life of a crack without each choice that was made for it and makes it longer: in words, and the life.

    With the repeats and the life in service that it is, where the life with the choice has them.
    """
    for name, words in WITHOUT.items():
        if growth.get(name) is not None:
            others = "; ".join(_others(growth, growth[name]))
            yield words, cycles_text(growth[name]) + (f" ({others})" if others else "")


def _others(growth: Mapping[str, Any], cycles: float) -> Iterator[str]:
    """A life in cycles as repeats and in service, both in the proportion of the life that stands with them."""
    life, service = growth["life_cycles"], growth.get("service_life")
    if not life:
        return
    repeats = growth.get("life_repeats", growth.get("life_blocks"))
    if repeats is not None and repeats != life:
        yield f"{rounded_down(repeats * cycles / life)} repeats"
    if service is not None and service["value"] is not None:
        yield service_text({**service, "value": service["value"] * cycles / life})
