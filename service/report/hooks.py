"""What the topic files register as their report; the pages are loaded when the first one is asked for."""

from __future__ import annotations

from typing import Any

__all__ = ["check_html", "damage_html", "growth_html"]


def check_html(request: Any, content: bytes) -> str:
    """Report of a weld check from its request and the bytes of its answer."""
    from service.report.check_page import check_page

    return check_page(request, content)


def growth_html(request: Any, content: bytes) -> str:
    """Report of a crack's growth."""
    from service.report.growth_page import growth_page

    return growth_page(request, content)


def damage_html(request: Any, content: bytes) -> str:
    """Report of the damage sum of a spectrum."""
    from service.report.damage_page import damage_page

    return damage_page(request, content)
