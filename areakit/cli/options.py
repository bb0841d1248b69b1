"""Options of commands, made from the fields of a request."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from typing import Any

import click

from areakit.cli.entries import by_name
from areakit.service.asked import Asked, asked_of

Decorator = Callable[[Callable[..., Any]], Callable[..., Any]]


def options_of(request: type, *names: str, but: tuple[str, ...] = (), needed: bool = True) -> Decorator:
    """Add an option for each field of a request that can be typed, or for those named; None where it is not given.

    Without ``needed`` none has to be typed: the command does something else without them.
    """
    asked = asked_of(request)
    chosen = names or tuple(name for name, one in asked.items() if one.about.typed and name not in but)
    return all_of(*(option_of(asked[name], needed=needed) for name in chosen))


def all_of(*options: Decorator) -> Decorator:
    """Return a decorator that adds several options in their order."""

    def decorate(function: Callable[..., Any]) -> Callable[..., Any]:
        for option in reversed(options):
            function = option(function)
        return function

    return decorate


def option_of(one: Asked, entry: str = "", *, needed: bool = True) -> Decorator:
    """Return the option of one field; its value goes by the name of the field, unless ``entry`` is another."""
    about, more = one.about, dict[str, Any]()
    if one.flag:
        more = {"is_flag": True, "default": None}
    elif about.choices and not callable(about.choices):
        more = {"type": click.Choice(about.choices)}
    else:
        more = {"metavar": about.shape, **({"type": click.IntRange(min=0)} if one.whole else {})}
    if one.many or one.by_name:
        more["multiple"] = True
    if one.by_name:
        more["callback"] = partial(by_name, for_all=about.for_all)
    if about.env:
        more["envvar"] = about.env
    shown = (one.words, example_of(one), f"[env: {about.env}]" if about.env else "")
    names = [one.option, *([f"--{about.also}"] if about.also else [])]
    words = " ".join(text for text in shown if text)
    return click.option(*names, entry or one.name, required=needed and one.needed, help=words, **more)


def example_of(one: Asked) -> str:
    """Return the words that show how an option is given."""
    example = one.about.example
    if isinstance(example, Mapping):
        values = [f"{name}={_quoted(value)}" if name else _quoted(value) for name, value in example.items()]
    else:
        values = [_quoted(value) for value in ((example,) if isinstance(example, str) else example) if value]
    return f"Example: {' '.join(f'{one.option} {value}' for value in values)}" if values else ""


def _quoted(value: str) -> str:
    return f'"{value}"' if " " in value else value


def said(entries: Mapping[str, Any]) -> dict[str, Any]:
    """Return the entries that somebody gave."""
    return {name: value for name, value in entries.items() if value is not None and value not in ((), {})}
