"""Which calculations have a report, and what renders it; a page is imported when it is first asked for."""

from __future__ import annotations

from importlib import import_module

RENDERERS = {
    "check": "check_page",
    "cracks/growth": "growth_page",
    "spectrum/damage": "damage_page",
}


def render(calculation: str, request: object, content: bytes) -> str:
    """The report of a calculation from its request and the bytes of its answer."""
    name = RENDERERS[calculation]
    page: str = getattr(import_module(f".{name}", __package__), name)(request, content)
    return page
