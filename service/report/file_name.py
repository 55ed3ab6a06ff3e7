"""The name under which a report is saved: that of its document, safe on every file system."""

from __future__ import annotations

import re
import unicodedata
from urllib.parse import quote

from ..base.document import Titled

_LONGEST = 60  # letters of the title; of four bytes each they fit the 255 bytes of a file name
_END = "-report.html"  # after it no name is one that a system keeps for a device


def file_name(calculation: str, request: object) -> str:
    """Name of the file from the title, else the part or drawing of the document, else the calculation.

    Letters and digits of any script stay; what else stands between them becomes one hyphen.

    >>> file_name("cracks/growth", None)
    'cracks-growth-report.html'
    """
    kept = (_safe(words) for words in _words(request))
    return next(filter(None, kept), _safe(calculation)) + _END


def _words(request: object) -> list[str]:
    if not isinstance(request, Titled):
        return []
    document = request.document
    return [request.title, *([] if document is None else [document.part or "", document.drawing_number or ""])]


def _safe(words: str) -> str:
    composed = unicodedata.normalize("NFKC", words)
    return re.sub(r"[\W_]+", "-", composed).strip("-")[:_LONGEST].strip("-")


def disposition(name: str) -> str:
    """Value of Content-Disposition that shows a page and names its file (RFC 6266, RFC 8187).

    >>> disposition("Träger-report.html")
    "inline; filename=Trager-report.html; filename*=UTF-8''Tr%C3%A4ger-report.html"
    """
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode()
    return f"inline; filename={plain.lstrip('-')}; filename*=UTF-8''{quote(name, safe='')}"
