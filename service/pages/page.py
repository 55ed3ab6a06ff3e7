"""The page around every catalogue: the look of the reports, links to the others, no script."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import lru_cache, wraps
from typing import Any, ParamSpec, TypeVar, cast

from jinja2 import ChoiceLoader, PackageLoader

from ..base.envelope import evaluate
from ..base.forms.unbroken import unbroken
from ..base.rules.active import active_policy
from ..report.page import TEMPLATES
from ..topics.registry import load

PAGES = TEMPLATES.overlay(loader=ChoiceLoader([PackageLoader(__package__), *filter(None, [TEMPLATES.loader])]))

P = ParamSpec("P")
T = TypeVar("T")
NAVIGATION = {
    "": "Calculate",
    "pages/curves": "Design curves",
    "pages/findings": "Findings",
    "pages/sources": "Sources",
    "pages/validation": "Verification",
    "docs": "API",
}


def answered(name: str, data: Mapping[str, str]) -> dict[str, Any]:
    """What the route GET /v1/<name> answers to the same texts of a URL; its Problem where it refuses."""
    return evaluate(load()["GET", name], dict(data), strings=True).envelope()


def kept(size: int | None = None) -> Callable[[Callable[P, T]], Callable[P, T]]:
    """Keeps what a function makes, so many of them, for the policy under which it was made."""

    def around(make: Callable[P, T]) -> Callable[P, T]:
        made: Any = lru_cache(maxsize=size)(lambda _, *given, **named: make(*given, **named))

        @wraps(make)
        def found(*given: P.args, **named: P.kwargs) -> T:
            policy = active_policy()
            return cast(T, made(None if policy is None else policy.digest, *given, **named))

        return found

    return around


def laid_out(template: str, here: str, **content: Any) -> str:
    """The whole page as text of an HTML file.

    here : path of the page from the root of the service, from which links to the others are relative
    """
    root = "../" * here.count("/")
    return unbroken(PAGES.get_template(template).render(root=root, here=here, navigation=NAVIGATION, **content))


def problem_page(body: Mapping[str, Any], here: str) -> str:
    """The page of a refusal, from the body that a program would get."""
    return laid_out("problem.html", here, problem=body)
