"""Keywords of a verb of Python: the fields of a request, figures as text or quantities."""

from __future__ import annotations

import inspect
import textwrap
from collections.abc import Callable, Mapping
from os import PathLike
from typing import Any, TypeVar

from areakit.api.values import entry_text
from areakit.service.asked import Asked, asked_of
from areakit.service.text_file import text_of

Verb = TypeVar("Verb", bound=Callable[..., Any])


def documented(*requests: type) -> Callable[[Verb], Verb]:
    """Add to the parameters of a verb's docstring those keywords that are fields of its requests.

    They stand where the docstring says ``Fields of`` and the names of the requests.
    """
    place = f"    Fields of {', '.join(one.__name__ for one in requests)}\n"
    asked = {name: one for request in requests for name, one in asked_of(request).items()}

    def describe(verb: Verb) -> Verb:
        doc = verb.__doc__ or ""
        named = [asked[name] for name in inspect.signature(verb).parameters if name in asked]
        undescribed = [one for one in named if f"\n    {one.name} : " not in doc]
        verb.__doc__ = doc.replace(place, "".join(map(_described, undescribed)))
        return verb

    return describe


def _described(one: Asked) -> str:
    kind = f"str, pint {one.about.kind} or UncertainValue" if one.about.kind else "str"
    if one.flag or one.whole:
        kind = "bool" if one.flag else "int"
    elif one.about.file:
        kind = "path"
    if one.by_name:
        kind = f"mapping of metal to {kind}"
    elif one.many:
        kind = f"sequence of {kind}"
    elif one.about.choices and not callable(one.about.choices):
        kind = f"{{{', '.join(one.about.choices)}}}"
    example = one.about.example
    shown = one.words + (f" Example: {example!r}" if example else "")
    text = textwrap.fill(shown, 110, initial_indent=" " * 8, subsequent_indent=" " * 8)
    return f"    {one.name} : {kind}{'' if one.needed else ', optional'}\n{text}\n"


def texts_of(request: type, given: Mapping[str, Any]) -> dict[str, Any]:
    """Return the keywords that are fields of a request as it takes them, those that nobody gave left out.

    Parameters
    ----------
    request : type
    given : mapping
        Keywords by name: figures as text, quantities or answers; a path or text where the request wants a document.

    Raises
    ------
    UnitError
        If a figure has no unit, or one of another kind.
    """
    asked = asked_of(request)
    return {name: _text(asked[name], value) for name, value in given.items() if name in asked and value is not None}


def _text(one: Asked, value: Any) -> Any:
    kind = one.about.kind
    if one.about.file:
        return text_of(value)
    if one.by_name:
        by_name = value if isinstance(value, Mapping) else {"": value}
        return {name: entry_text(entry, kind) if kind else entry for name, entry in by_name.items()}
    if one.many:
        return tuple(value)
    if kind:
        return entry_text(value, kind, spread="limit" if one.about.limit else "expanded")
    return str(value) if isinstance(value, PathLike) else value
