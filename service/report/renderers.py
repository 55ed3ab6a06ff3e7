"""Which calculations have a report, and what renders it; a page is imported when it is first asked for."""

from __future__ import annotations

from collections.abc import Mapping
from importlib import import_module
from types import ModuleType
from typing import Any

from ..base.problems import Problem

RENDERERS = {
    "check": "check_page",
    "cracks/growth": "growth_page",
    "spectrum/damage": "damage_page",
    "trials/sn-line": "trials.sn_page",
    "trials/growth-rate": "trials.growth_rate_page",
}
NOT_INSTALLED, NO_FOLDER = "urn:toeline:report-not-installed", "urn:toeline:report-without-folder"


def render(calculation: str, request: object, envelope: Mapping[str, Any], **more: object) -> str:
    """The report of a calculation from its request and its answer in the envelope.

    more   : what its page takes besides, like the part of a check
    Raises : Problem 503 where the packages of the extra 'report' are missing, or find no folder to write to
    """
    name = RENDERERS[calculation]
    module = page_module(f".{name}", __package__)
    page: str = getattr(module, name.rpartition(".")[2])(request, envelope, **more)
    return page


def require_packages(calculation: str) -> None:
    """Problem 503 where the packages of its report are missing, before anything is calculated."""
    page_module(f".{RENDERERS[calculation]}", __package__)


def page_module(name: str, package: str) -> ModuleType:
    """A module that needs the packages of the extra 'report'.

    Raises : Problem 503 where they are missing, or find no folder to write to
    """
    try:
        return import_module(name, package)
    except ModuleNotFoundError as error:
        text = f"reports need {error.name}, which is not installed here: install toeline with its extra 'report'"
        raise Problem(503, text, kind=NOT_INSTALLED, title="Optional extra not installed") from error
    except OSError as error:
        text = "reports need a folder that matplotlib may write to: set MPLCONFIGDIR, or make /tmp writable"
        raise Problem(503, text, kind=NO_FOLDER, title="No folder to write to") from error
