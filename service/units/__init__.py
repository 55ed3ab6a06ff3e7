"""Requests and answers in other units: converted at the edge, the calculation knows MPa and mm only."""
