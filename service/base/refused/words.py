"""What a request is told that does not fit its schema, in words that need no knowledge of the library."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from typing import Any

from fatcore.bounds import LARGEST, SMALLEST
from fatcore.errors import did_you_mean
from fatcore.figures import as_given, counted

_BE = "must be "
_OF_NAME = ("must ", "is needed")  # what says it of the input by its name
_KINDS = {  # by the end of the library's name of the error
    "float": "a number",
    "int": "a whole number",
    "bool": "true or false",
    "string": "a text",
    "list": "a list",
    "tuple": "a list",
    "dict": "an object with named values",
    "model": "an object with named values",
    "model_attributes": "an object with named values",
}


def refusal(kind: str, context: Mapping[str, Any], given: Any, otherwise: str) -> str:
    """The message for one validation error.

    kind, context, given : of the library; the input is compared with known names, not repeated
    otherwise            : its own message, for what is rare
    """
    if kind == "float_type" and type(given) is int:  # of more digits than any number has
        return f"{_BE}a number from -{as_given(LARGEST)} to {as_given(LARGEST)}"
    if kind.endswith("_type") and kind.removesuffix("_type") in _KINDS:
        return _BE + _KINDS[kind.removesuffix("_type")]
    made = _MESSAGES.get(kind)
    return otherwise if made is None else made(context, given)


def joined(name: str, messages: Iterable[str]) -> str:
    """Several messages about one input of a name, where it may be of several kinds: as one."""
    once = list(dict.fromkeys(messages))
    kinds = [message.removeprefix(_BE) for message in once if message.startswith(_BE)]
    others = [message for message in once if not message.startswith(_BE)]
    every = [*([_BE + ", or ".join(kinds)] if kinds else []), *others]
    return "; ".join(f"{name} {each}" if each.startswith(_OF_NAME) else each for each in every)


def _one_of(names: str, given: Any) -> str:
    known = re.findall(r"'([^']*)'", names)
    choices = known[0] if len(known) == 1 else f"one of {', '.join(known)}"
    return f"{_BE}{choices}" + (did_you_mean(given, known) if isinstance(given, str) else "")


def _tag(context: Mapping[str, Any], _: Any) -> str:
    return _one_of(context["expected_tags"], context["tag"])


def _count(what: str) -> Callable[[Mapping[str, Any], Any], str]:
    def message(context: Mapping[str, Any], _: Any) -> str:
        least = "min_length" in context
        size = context["min_length" if least else "max_length"]
        words = f"{'must have' if what == 'character' else 'must hold'} at {'least' if least else 'most'}"
        return f"{words} {counted(size, what)}"

    return message


def _least(end: float, given: Any) -> str:
    """Of a number that must not be zero, only who comes near to zero is told where it begins."""
    negative = str(given).lstrip().startswith("-") or given in (0, "0", "0.0")
    return "greater than 0" if end == SMALLEST and negative else f"{as_given(end)} or more"


_MESSAGES: Mapping[str, Callable[[Mapping[str, Any], Any], str]] = {
    "missing": lambda *_: "is needed",
    "finite_number": lambda *_: _BE + "a finite number",
    "greater_than": lambda context, _: f"{_BE}greater than {as_given(context['gt'])}",
    "greater_than_equal": lambda context, given: _BE + _least(context["ge"], given),
    "less_than": lambda context, _: f"{_BE}less than {as_given(context['lt'])}",
    "less_than_equal": lambda context, _: f"{_BE}{as_given(context['le'])} or less",
    "literal_error": lambda context, given: _one_of(context["expected"], given),
    "union_tag_invalid": _tag,
    "too_short": _count("entry"),
    "too_long": _count("entry"),
    "string_too_short": _count("character"),
    "string_too_long": _count("character"),
    "float_parsing": lambda *_: _BE + "a number",
    "int_parsing": lambda *_: _BE + "a whole number",
    "value_error": lambda context, _: str(context["error"]),
    "bool_parsing": lambda *_: _BE + "true or false",
}
