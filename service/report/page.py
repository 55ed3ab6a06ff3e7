"""The page around every report: verdict first, sections, record last; no script, no outside address."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from . import evidence
from .markup import Html, join_markup, tag
from .policy import POLICY

SIGNS = {"pass": "✓", "fail": "✗", "undecided": "?", "answer": "→"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """What stands on top: kind of report, title of the user, verdict as one word, and its reason.

    verdict : pass, fail, undecided, or answer where nothing is judged
    word    : how the verdict is called, when not by its own word
    """

    kind: str
    title: str
    verdict: str
    reason: str
    word: str = ""


@dataclass(frozen=True, slots=True)
class Section:
    """A part of the page under its heading."""

    title: str
    content: Sequence[object]


def page(head: Head, sections: Sequence[Section], envelope: dict[str, Any]) -> str:
    """The whole page as text of an HTML file; what every report ends with comes from the envelope."""
    ends = [
        Section("Sources", [evidence.sources(envelope["record"]["sources"])]),
        Section("Findings", [evidence.findings(envelope["findings"])]),
        Section("Caution", [tag("p", envelope["caution"], class_="advice")]),
        Section("Record", [evidence.record(envelope["record"])]),
    ]
    body = tag(
        "body",
        tag("header", tag("p", f"toeline · {head.kind}", class_="kind"), tag("h1", head.title or head.kind)),
        tag("main", _banner(head, envelope["findings"]), *[_section(part) for part in [*sections, *ends]]),
    )
    return "<!DOCTYPE html>\n" + tag("html", _meta(head), body, lang="en") + "\n"


def _meta(head: Head) -> Html:
    return tag(
        "head",
        tag("meta", charset="utf-8"),
        tag("meta", http_equiv="Content-Security-Policy", content=POLICY),
        tag("meta", name="viewport", content="width=device-width, initial-scale=1"),
        tag("title", f"{head.title or head.kind}: {head.word or head.verdict}"),
        Html(f"<style>{_style()}</style>"),
    )


@cache
def _style() -> str:
    return files(__package__).joinpath("style.css").read_text(encoding="utf-8")


def _banner(head: Head, found: Sequence[dict[str, Any]]) -> Html:
    sign = tag("span", SIGNS[head.verdict], class_="sign", aria_hidden="true")
    word = tag("p", sign, " ", (head.word or head.verdict).upper(), class_="word")
    where = "Outside, but not at a governing point: " if head.verdict == "pass" else "Outside: "
    outside = [tag("p", tag("strong", where), text) for text in evidence.doubts(found)]
    counted = tag("p", evidence.count_line(found), class_="count")
    return tag(
        "section",
        word,
        tag("p", head.reason, class_="reason"),
        *outside,
        counted,
        class_=f"verdict {head.verdict}",
    )


def _section(part: Section) -> Html:
    return tag("section", tag("h2", part.title), join_markup(part.content))
