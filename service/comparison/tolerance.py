"""When two numbers of a gate are the same one, and how two that differ are printed."""

from __future__ import annotations

from fatcore.figures import DIGITS, Form

from ..base.text import number

NOISE = 1e-6  # relative difference that another processor or another build may make in the same answer
MOST_DIGITS = 17


def same(now: float, before: float) -> bool:
    """Whether two numbers differ by no more than another processor makes.

    >>> same(0.5, 0.5 * (1 + 9e-7)), same(0.5, 0.5 * (1 + 2e-6))
    (True, False)
    """
    return abs(now - before) <= NOISE * max(abs(now), abs(before))


def more(now: float, bound: float) -> bool:
    """Whether a number is above a bound by more than another processor makes."""
    return now > bound and not same(now, bound)


def shown(
    before: float | None, now: float | None, absent: str = "none", form: Form = number, old_form: Form | None = None
) -> tuple[str, str]:
    """Two numbers with as many digits as it takes to tell them apart.

    form     : of both, or of the later one where the older has a form of its own

    >>> shown(11020.4, 11020.2), shown(0.5, 0.6), shown(None, 3.0)
    (('11,020.4', '11,020.2'), ('0.5', '0.6'), ('none', '3'))
    """
    for digits in range(DIGITS, MOST_DIGITS + 1):
        texts = _text(before, digits, absent, old_form or form), _text(now, digits, absent, form)
        if texts[0] != texts[1] or before == now:
            break
    return texts


def _text(value: float | None, digits: int, absent: str, form: Form) -> str:
    return absent if value is None else form(value, digits)
