"""What matplotlib writes as the content of an <svg> element of a page, without what says nothing there."""

from __future__ import annotations

import re

from ...base.forms.printable import LINES, escaped

_TAG, _LONG = re.compile("<[^>]*>"), re.compile(r"(\d\.\d\d)\d+")  # two digits are a few thousandths of a millimetre
_SAME_MARKS = re.compile(r'<use [^>]*?style="([^"]*)"/>(?: <use [^>]*?style="\1"/>)+')


def inline_svg(svg: str) -> tuple[str, str]:
    """Content and box of the <svg> element: no namespaces, metadata or style sheet, only the ids it refers to."""
    body = escaped(svg[svg.index("<svg") :], keep=LINES)
    box = re.search(r'viewBox="([^"]*)"', body)
    assert box
    body = body[body.index(">") + 1 : body.rindex("</svg>")]
    body = re.sub(r"<metadata>.*?</metadata>", "", body, flags=re.DOTALL)
    body = re.sub(r"<style[^>]*>.*?</style>", "", body, flags=re.DOTALL)
    body = re.sub(r"<!--.*?-->", "", body, flags=re.DOTALL)
    body = body.replace("xlink:href", "href")
    body = re.sub(r"(font(?:-family)?: [^;\"]*?)'DejaVu Sans', ", r"\1", body)
    body = re.sub(r' transform="rotate\(-0 [^"]*\)"', "", body)
    used = set(re.findall(r'(?:href="#|url\(#)([^")]*)', body))
    body = re.sub(r' id="([^"]*)"', lambda found: found[0] if found[1] in used else "", body)
    body = re.sub(r"\s*\n\s*", " ", body).strip()
    body = re.sub(r"<g\b[^>]*/>", "", body)
    body = _TAG.sub(lambda tag: _LONG.sub(r"\1", tag[0]), body)
    return _SAME_MARKS.sub(_gathered, _without_plain_groups(body)), _LONG.sub(r"\1", box[1])


def _gathered(marks: re.Match[str]) -> str:
    """Marks of one look with their style once."""
    style = f' style="{marks[1]}"'
    return f"<g{style}>{marks[0].replace(style, '')}</g>"


def _without_plain_groups(body: str) -> str:
    """Without groups that say nothing."""
    kept, plain = [], []
    for part in re.split(r"(</?g\b[^>]*>)", body):
        if part.startswith("<g"):
            plain.append(part == "<g>")
        said = not (part.startswith(("<g", "</g")) and plain[-1])
        if part == "</g>":
            plain.pop()
        kept += [part] if said and part != " " else []
    return "".join(kept)
