"""What a request is told that does not fit its schema, in words that need no knowledge of the library."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from difflib import get_close_matches
from typing import Any

from fatcore.figures import as_given

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
    near = get_close_matches(given, known, n=1) if isinstance(given, str) else []
    return f"{_BE}one of {', '.join(known)}" + (f" (did you mean {near[0]!r}?)" if near else "")


def _tag(context: Mapping[str, Any], _: Any) -> str:
    return _one_of(context["expected_tags"], context["tag"])


def _no_tag(context: Mapping[str, Any], _: Any) -> str:
    return f"{context['discriminator'].strip(chr(39))} is needed, which says what follows"


def _count(what: str) -> Callable[[Mapping[str, Any], Any], str]:
    def message(context: Mapping[str, Any], _: Any) -> str:
        end = f"at least {context['min_length']}" if "min_length" in context else f"at most {context['max_length']}"
        return f"{'must have' if what == 'characters' else 'must hold'} {end} {what}"

    return message


_MESSAGES: Mapping[str, Callable[[Mapping[str, Any], Any], str]] = {
    "missing": lambda *_: "is needed",
    "finite_number": lambda *_: _BE + "a finite number",
    "greater_than": lambda context, _: f"{_BE}greater than {as_given(context['gt'])}",
    "greater_than_equal": lambda context, _: f"{_BE}{as_given(context['ge'])} or more",
    "less_than": lambda context, _: f"{_BE}less than {as_given(context['lt'])}",
    "less_than_equal": lambda context, _: f"{_BE}{as_given(context['le'])} or less",
    "literal_error": lambda context, given: _one_of(context["expected"], given),
    "union_tag_invalid": _tag,
    "union_tag_not_found": _no_tag,
    "too_short": _count("entries"),
    "too_long": _count("entries"),
    "string_too_short": _count("characters"),
    "string_too_long": _count("characters"),
    "float_parsing": lambda *_: _BE + "a number",
    "int_parsing": lambda *_: _BE + "a whole number",
    "bool_parsing": lambda *_: _BE + "true or false",
}
