"""What can be asked for: each field of a request says once what it is, for commands, HTTP, tables and Python alike."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import KW_ONLY, MISSING, dataclass, fields
from functools import cache
from typing import Annotated, Any, get_args, get_origin

Text = str | None
Whole = int | None
Texts = tuple[str, ...]
ByMetal = Mapping[str, str]


@dataclass(frozen=True)
class About:
    """What is said of a field beside its name, type and default, which stand in its request.

    Parameters
    ----------
    help : str
        What it is, in a sentence or two.
    default : str
        What holds where nobody says, in words; else the default of the request tells.
    example : str, mapping or sequence of str
        As it would be typed; a mapping or a sequence where it can be given several times.
    shape : str
        What stands for it in a line of usage: ``LENGTH``.
    kind : str
        Kind of its quantity, as :mod:`areakit.units` knows it; empty for words.
    limit : bool
        Its ± is the limit of a rectangular distribution, not an expanded uncertainty.
    one : str
        Its name where it is given once for each value: ``part`` of ``parts``.
    also : str
        Another name of its option.
    choices : sequence of str, or a function that returns it
        What it may be; a function where a table has to be read.
    each : bool
        It can be said of a single photo of a table, and of a single part of a photo.
    for_all : bool
        A value without a metal holds for every metal.
    file : bool
        The text of a settings file: a file on the command line and in Python.
    document : bool
        What another call returned, as JSON text: a file on the command line, also the object itself over HTTP.
    local : bool
        It names something on this machine: no request over HTTP has it.
    typed : bool
        The command line has an option for it.
    env : str
        Variable of the environment that says it where no option does.
    """

    help: str
    default: str = ""
    _: KW_ONLY
    example: str | Mapping[str, str] | tuple[str, ...] = ""
    shape: str = "TEXT"
    kind: str = ""
    limit: bool = False
    one: str = ""
    also: str = ""
    choices: tuple[str, ...] | Callable[[], Any] = ()
    each: bool = False
    for_all: bool = False
    file: bool = False
    document: bool = False
    local: bool = False
    typed: bool = True
    env: str = ""

    def __get_pydantic_json_schema__(self, core: Any, handler: Any) -> dict[str, Any]:
        """Add what is said to the schema of a model that has the field."""
        found, more = handler(core), self.schema()
        if "enum" in more and {"type": "null"} in found.get("anyOf", ()):
            more["enum"].append(None)
        return {**found, **more}

    def schema(self) -> dict[str, Any]:
        """Return what JSON Schema has words for: description, examples, choices."""
        example = self.example if isinstance(self.example, str) else _plain(self.example)
        choices = list(self.choices() if callable(self.choices) else self.choices)
        default = f" Default: {self.default}." if self.default else ""
        return {
            "description": self.help + default,
            **({"examples": [example]} if example else {}),
            **({"enum": choices} if choices else {}),
        }


def _plain(example: Mapping[str, str] | tuple[str, ...]) -> dict[str, str] | list[str]:
    return dict(example) if isinstance(example, Mapping) else list(example)


@dataclass(frozen=True, kw_only=True)
class Asked:
    """A field of a request with what is said of it, and how often it can be given."""

    name: str
    about: About
    default: Any
    base: Any

    @property
    def needed(self) -> bool:
        """Whether nothing holds where nobody says."""
        return self.default is MISSING

    @property
    def many(self) -> bool:
        """Whether it is a sequence."""
        return isinstance(self.default, tuple)

    @property
    def by_name(self) -> bool:
        """Whether it is a mapping, as of metals to their values."""
        return get_origin(self.base) is Mapping

    @property
    def flag(self) -> bool:
        """Whether it is on or off."""
        return self.base is bool

    @property
    def whole(self) -> bool:
        """Whether it is a whole number."""
        return int in (self.base, *get_args(self.base))

    @property
    def key(self) -> str:
        """Its name where each value is given by itself."""
        return self.about.one or self.name

    @property
    def option(self) -> str:
        """Its option on the command line."""
        return f"--{self.key.replace('_', '-')}"

    @property
    def words(self) -> str:
        """What it is and what holds where nobody says, for a reader."""
        stated = self.about.default or (str(self.default) if isinstance(self.default, str | int) else "")
        return self.about.help + (f" Default: {stated}." if stated and not self.flag else "")


@cache
def asked_of(request: type) -> dict[str, Asked]:
    """Return the fields of a request of which something is said, by name, in their order."""
    found = {}
    for one in fields(request):
        if get_origin(one.type) is not Annotated:
            continue
        base, *more = get_args(one.type)
        about = next(word for word in more if isinstance(word, About))
        default = one.default if one.default_factory is MISSING else one.default_factory()
        found[one.name] = Asked(name=one.name, about=about, default=default, base=base)
    return found
