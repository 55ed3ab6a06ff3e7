"""Numbers as people read them: the one place where a text gets its digits.

Computed numbers have three significant digits, thousands are set apart by commas from 10,000 on, powers of ten stand as
1.23e12. A trailing zero says that digits follow which were rounded off: 0.850 is about, 0.85 is exactly that. Whole
numbers are counts or were given: they keep all their digits.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import inf, isclose, isfinite
from numbers import Integral

Form = Callable[[float, int], str]  # of a number and its digits

DIGITS = 3
_MOST_DIGITS = 17  # tell any two floats apart
_LEAST_POWER, _LARGEST_POWER = -4, 10  # of ten: smaller ones, and these and larger ones, are written as powers
_GROUPED = 1e4
_HANDY = 0.01  # beside a number of this size a far smaller one stands as a power, and it stays as it is
_WHOLE = 1e9  # larger ones may be whole by chance: one computed number in eight million, beyond 4.5e15 all of them
_AGREED = 1e-9  # relative difference that processors may make
_GIVEN_DIGITS = 12
_NOISE = 1e-6  # what the last digits of a calculation leave of a short number


def figure(value: float | None, digits: int = DIGITS) -> str:
    """A computed number; a whole one keeps all its digits.

    value   : any number; none is infinite, as in every outcome
    digits  : significant digits [-], >= 1
    Returns : the text

    >>> figure(0.85012), figure(0.85), figure(12345.678), figure(12345.0), figure(3.21e12), figure(1.5e-7)
    ('0.850', '0.85', '12,300', '12,345', '3.21e12', '1.5e-7')
    """
    if value is None or not isfinite(value):
        return "infinite"
    if isinstance(value, Integral) or (value == round(value) and abs(value) < _WHOLE):
        return f"{int(value):,}" if abs(value) >= _GROUPED else str(int(value))
    return _plain(float(value), digits)


def as_given(value: float | None) -> str:
    """A number as the user gave it, with all its digits; beyond twelve stands what a change of units left.

    >>> as_given(1234567.0), as_given(0.1 * 3), as_given(2.0), as_given(5e-7), as_given(12.3456)
    ('1,234,567', '0.3', '2', '5e-7', '12.3456')
    """
    return figure(value, _GIVEN_DIGITS)


def coordinate(value: float, digits: int = _GIVEN_DIGITS) -> str:
    """A coordinate or a place along a line, as given and without commas, since several stand in a row.

    >>> coordinate(12345.25), coordinate(-0.0), coordinate(0.1 + 0.2), coordinate(1.23456789, 6)
    ('12345.25', '0', '0.3', '1.23457')
    """
    return figure(value + 0.0, digits).replace(",", "")


def rounded_down(value: float | None, digits: int = DIGITS) -> str:
    """A computed number that never reads larger than it is by more than noise, like a life; none is infinite.

    >>> rounded_down(10984000.3), rounded_down(2361000.5), rounded_down(0.99961), rounded_down(None)
    ('10,900,000', '2,360,000', '0.999', 'infinite')
    """
    return figure(None if value is None else lowered(value, digits), digits)


def lowered(value: float, digits: int = DIGITS) -> float:
    """A number that `figure` writes as this one rounded down.

    >>> lowered(7.344e6), figure(lowered(7346000.3))
    (7344000.0, '7,340,000')
    """
    if _number(figure(value, digits)) <= value * (1.0 + _AGREED):
        return value
    power = int(f"{value:.16e}".partition("e")[2])
    return value - 0.5 * 10.0 ** (power - digits + 1)


def beside_limit(value: float, limit: float, digits: int = DIGITS, form: Form = figure) -> tuple[str, str]:
    """A number and its limit with as many digits as show on which side of the limit it stands.

    form    : of the number, `rounded_down` for a life
    Returns : texts of the number and of the limit; as numbers they compare as the numbers themselves do. One that no
              two processors need agree on is just below or just above its limit, in words.

    >>> beside_limit(0.9996, 1.0), beside_limit(1.00004, 1.0), beside_limit(0.33336, 1 / 3), beside_limit(0.5, 0.5)
    (('0.9996', '1'), ('1.00004', '1'), ('0.3334', '0.3333'), ('0.5', '0.5'))
    >>> beside_limit(0.9999999999999998, 1.0)
    ('just below 1', '1')
    """
    given_short = isclose(float(f"{limit:.6g}"), limit, rel_tol=1e-12, abs_tol=0.0)
    return _beside(value, limit, digits, 6 if given_short else digits, form)


def beside_asked(value: float | None, asked: float) -> tuple[str, str]:
    """A life and the one that is asked for: that as it was given, a large one without digits behind its point.

    value   : never reads larger than it is; none is infinite
    Returns : texts of both, of which the first has as many digits as show on which side of the second it stands

    >>> beside_asked(16.18, 10.0), beside_asked(16289999.9, 15081255.8194), beside_asked(15081255.9, 15081255.8194)
    (('16.1', '10'), ('16,200,000', '15,081,256'), ('15,081,255.9', '15,081,255.8'))
    """
    whole = len(str(int(abs(asked))))
    digits = min(whole, _GIVEN_DIGITS) if abs(asked) >= _GROUPED else _GIVEN_DIGITS
    return _beside(inf if value is None else value, asked, DIGITS, digits, rounded_down)


def beside_allowed(value: float, allowed: float | None) -> tuple[str, str]:
    """A range and the one that is allowed, which never reads larger than it is; none is infinite.

    >>> beside_allowed(119.4, 196.7), beside_allowed(196.6, 196.7), beside_allowed(5.0, None)
    (('119', '196'), ('196.6', '196.7'), ('5', 'infinite'))
    """
    return _beside(value, inf if allowed is None else allowed, DIGITS, DIGITS, figure, rounded_down)


def _beside(
    value: float, limit: float, digits: int, limit_digits: int, form: Form, limit_form: Form = figure
) -> tuple[str, str]:
    if value != limit and isclose(value, limit, rel_tol=_AGREED, abs_tol=0.0):
        text = limit_form(limit, max(digits, limit_digits))
        return f"just {'below' if value < limit else 'above'} {text}", text
    for shown in range(digits, _MOST_DIGITS + 1):
        texts = form(value, shown), limit_form(limit, max(shown, limit_digits))
        if _side(*map(_number, texts)) == _side(value, limit):
            break
    return texts


def against(value: float | None, limit: float, form: Form = figure, digits: int = DIGITS) -> str:
    """A number alone, with as many digits as show on which side of its limit it stands; none is infinite.

    >>> against(0.9996, 1.0), against(1.23456, 1.0), against(None, 1e6)
    ('0.9996', '1.23', 'infinite')
    """
    return "infinite" if value is None else beside_limit(value, limit, digits, form)[0]


def beside_limits(value: float, *limits: float, digits: int = DIGITS) -> str:
    """A number alone that shows on which side of each of these limits it stands.

    >>> beside_limits(1.0004, 1.0), beside_limits(0.8004, 1.0, 0.8), beside_limits(0.5, 1.0, 0.8)
    ('1.0004', '0.8004', '0.5')
    """
    return max((against(value, limit, figure, digits) for limit in limits), key=len, default=figure(value, digits))


def just_passing(factor: float, digits: int = DIGITS) -> str:
    """A factor on the loads that just passes: on its side of 1, and it never reads larger than it is.

    >>> just_passing(1.6579), just_passing(0.9996), just_passing(1.0004)
    ('1.65', '0.999', '1.0004')
    """
    return against(factor, 1.0, rounded_down, digits)


def change(percent: float, *limits: float) -> str:
    """A change in per cent with its sign; one that processors may make is none.

    limits : sizes of a change beside which it shows on which side it stands

    >>> change(12.3456), change(-0.001234), change(-1e-9), change(2.0004, 2.0)
    ('+12.3 %', '-0.00123 %', '0 %', '+2.0004 %')
    """
    if abs(percent) <= 100.0 * _AGREED:
        return "0 %"
    return f"{'+' if percent > 0.0 else '-'}{beside_limits(abs(percent), *limits)} %"


def same_form(values: Sequence[float], digits: int = DIGITS) -> list[str]:
    """Computed numbers of one column: all as powers of ten where one has to be and the largest is no handy one.

    >>> same_form([0.5, 12345.6]), same_form([0.00512, 1.51e-7, 0.0]), same_form([0.3123, 1.51e-7])
    (['0.5', '12,300'], ['5.12e-3', '1.51e-7', '0'], ['0.312', '1.51e-7'])
    """
    texts = [figure(value, digits) for value in values]
    largest = max((abs(value) for value in values if isfinite(value)), default=0.0)
    if not any(map(_has_power, texts)) or _HANDY <= largest < 10.0**_LARGEST_POWER:
        return texts
    return [
        _power(value, digits) if isfinite(value) and value else text for value, text in zip(values, texts, strict=True)
    ]


def _plain(value: float, digits: int) -> str:
    power = _power(value, digits)
    exponent = int(power.partition("e")[2])
    if value and not _LEAST_POWER <= exponent < _LARGEST_POWER:
        return power
    rounded = float(f"{value:.{digits}g}")
    decimals = max(digits - 1 - exponent, 0)
    text = f"{rounded:,.{decimals}f}" if abs(rounded) >= _GROUPED else f"{rounded:.{decimals}f}"
    return _without_zeros(text) if _exact(value, rounded) else text


def _power(value: float, digits: int) -> str:
    mantissa, _, exponent = f"{value:.{digits - 1}e}".partition("e")
    if _exact(value, float(f"{value:.{digits}g}")):
        mantissa = _without_zeros(mantissa)
    return f"{mantissa}e{int(exponent)}"


def _exact(value: float, rounded: float) -> bool:
    return isclose(value, rounded, rel_tol=_NOISE, abs_tol=0.0)


def _without_zeros(text: str) -> str:
    return text.rstrip("0").rstrip(".") if "." in text else text


def _has_power(text: str) -> bool:
    return text[-1].isdigit() and "e" in text


def _number(text: str) -> float:
    return float(text.replace(",", "").replace("infinite", "inf"))


def _side(value: float, limit: float) -> int:
    return int(value > limit) - int(value < limit)


def counted(count: int, word: str) -> str:
    """So many of something, in words.

    >>> counted(1, "check"), counted(3600, "weld line"), counted(2, "entry")
    ('1 check', '3,600 weld lines', '2 entries')
    """
    many = f"{word[:-1]}ies" if word.endswith("y") else f"{word}s"
    return f"{count:,} {word if count == 1 else many}"
