"""The file name of a saved report: from the title of its document, safe wherever it is saved.

Header fields by RFC 6266 (Content-Disposition) and RFC 8187 (its extended parameter), from memory.
"""

from __future__ import annotations

import re
from typing import Any
from urllib.parse import unquote

import httpx
import pytest

from service.http.openapi import examples
from service.report.file_name import disposition, file_name
from service.report.renderers import RENDERERS
from service.topics.check.models import CheckRequest
from tests.api.report_pages import PAGE, toe


def named(title: str, **more: Any) -> str:
    return file_name("check", CheckRequest.model_validate(toe(title=title, **more)))


@pytest.mark.parametrize(
    ("title", "name"),
    [
        ("Spring-hanger bracket of a forage trailer", "Spring-hanger-bracket-of-a-forage-trailer-report.html"),
        ("../../etc/passwd", "etc-passwd-report.html"),
        ("C:\\temp\\a.exe", "C-temp-a-exe-report.html"),
        ("con", "con-report.html"),  # a bare one is a device on some systems
        ("a\r\nSet-Cookie: x", "a-Set-Cookie-x-report.html"),
        ('say "no"; b', "say-no-b-report.html"),
        ("Träger № 7", "Träger-No-7-report.html"),
        ("支架", "支架-report.html"),
        ("a\u202egnp.html", "a-gnp-html-report.html"),  # turns the direction of what follows
        ("", "check-report.html"),
        ("...", "check-report.html"),
    ],
)
def test_a_title_becomes_a_safe_name(title: str, name: str) -> None:
    assert named(title) == name


def test_a_name_is_short_enough_for_every_file_system() -> None:
    assert len(named("𝕏支" * 100).encode()) <= 255
    assert named("a" * 59 + " - b") == "a" * 59 + "-report.html"


def test_without_a_title_the_part_or_the_drawing_names_the_file() -> None:
    assert named("", document={"part": "Hanger", "drawing_number": "FT-1"}) == "Hanger-report.html"
    assert named("", document={"drawing_number": "FT-1"}) == "FT-1-report.html"
    assert named("", document={"project": "Trailer"}) == "check-report.html"


@pytest.mark.parametrize("name", ["Träger-report.html", "支架-report.html", "a-report.html"])
def test_a_header_names_the_file_in_ascii_and_in_full(name: str) -> None:
    plain, full = re.fullmatch(
        r"inline; filename=([A-Za-z0-9.-]+); filename\*=UTF-8''([A-Za-z0-9.%-]+)", disposition(name)
    ).groups()  # type: ignore[union-attr]
    assert unquote(full) == name
    assert plain.endswith("report.html")


@pytest.mark.parametrize("route", RENDERERS)
def test_the_answer_of_every_report_names_its_file(client: httpx.Client, route: str) -> None:
    least = min(
        (each["request"] for each in examples().values() if each["calculation"] == route),
        key=lambda each: len(str(each)),
    )
    body = {**least, "title": "Toe 3, left"}
    answer = client.post(f"/v1/{route}", json=body, headers=PAGE)
    assert answer.headers["content-disposition"].startswith("inline; filename=Toe-3-left-report.html;")
    assert "content-disposition" not in client.post(f"/v1/{route}", json=body).headers
