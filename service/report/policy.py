"""What a browser may do with a report: show it, and nothing else."""

from __future__ import annotations

# nothing may be fetched or run; styles and the grey picture of a part stand in the page itself
POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'"

PAGE_HEADERS = {
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "X-Frame-Options": "DENY",
}

REPORT_HEADERS = {**PAGE_HEADERS, "Content-Security-Policy": f"{POLICY}; frame-ancestors 'none'"}
