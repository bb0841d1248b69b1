"""A shop profile: what stays the same from job to job, as one commented TOML file that a person reads and edits."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache
from importlib.resources import files
from typing import Any

from areakit.errors import AreakitError, InputError
from areakit.foreign_text import toml_from
from areakit.geometry.edge_makes import edge_makes
from areakit.plating.process import BASE_GROUPS
from areakit.plating.solutions import Solution, read_solutions, write_solution
from areakit.plural import counted
from areakit.service.entries import read_footprint_size, read_quantity
from areakit.service.plan_request import CORNERS, MARKETS, USES
from areakit.service.spread import sized_words
from areakit.units import parse_with_tolerance

Values = Mapping[str, Mapping[str, Any]]
"""Section to key to text; a section of tables holds name to key to text."""
Trouble = tuple[str, str]
"""Where an entry stands, and what is wrong with it."""
METHODS = ("brush", "tank")
_NAME = re.compile(r"[a-z0-9][a-z0-9-]{0,39}")
_MOST_TOLD = 8
_TITLE = "title"
_HEAD = (
    "# Shop profile of areakit: what stays the same from job to job. Options of areakit plan go before it.",
    "# An entry that you leave out is asked for, or taken from the tables and said so.",
)
_SAMPLE = {"metal": "gold", "name": "tag-brass"}


@dataclass(frozen=True, slots=True, kw_only=True)
class ShopEntry:
    """One entry of a profile: where it stands, what it must be, and how it is asked for."""

    section: str
    key: str
    form: str
    kind: str
    ask: bool
    question: str
    example: str
    choices: str = ""

    @property
    def asked(self) -> str:
        """The question with the words that can be typed, where there is no list of them."""
        return f"{self.question}: {self.choices}" if self.choices else self.question

    @property
    def path(self) -> str:
        """Where the entry stands: ``usual.base``, ``brushes.NAME.footprint``, ``layers.METAL``."""
        names = {"metal": "METAL", "name": "NAME", "solution": "NAME", "table": f"NAME.{self.key}", "one": self.key}
        return f"{self.section}.{names[self.form]}"


def is_name(text: str) -> bool:
    """Tell whether a text can be the name of a profile, and so of a file in its folder."""
    return _NAME.fullmatch(text) is not None


@dataclass(frozen=True, slots=True, kw_only=True)
class Profile:
    """A checked profile: its name, its title, whether it is invented, and its values as text."""

    name: str
    title: str
    values: Values
    invented: bool = False

    def one(self, section: str, key: str) -> str | None:
        """Return one value; None where the profile is silent."""
        value = self.values.get(section, {}).get(key)
        return None if value is None else str(value)

    def table(self, section: str) -> dict[str, Any]:
        """Return a section as it stands."""
        return dict(self.values.get(section, {}))

    @property
    def processes(self) -> tuple[str, ...]:
        """The usual processes, the default first."""
        return tuple(word for word in re.split(r"[,\s]+", self.one("usual", "process") or "") if word)

    @property
    def solutions(self) -> dict[str, Solution]:
        """The solutions, checked, in the order of the file."""
        return read_solutions(solutions_toml(self.table("solutions")))

    def solution_for(self, metal: str, method: str) -> str | None:
        """Return the first solution of a metal that is used by this method; None where there is none."""
        rows = self.table("solutions")
        fitting = (
            name for name, row in rows.items() if row.get("metal") == metal and str(row.get("method", method)) == method
        )
        return next(fitting, None)


@cache
def shop_entries() -> tuple[ShopEntry, ...]:
    """Return the definition of every entry, in the order of the file."""
    text = files("areakit").joinpath("data/shop_entries.toml").read_text(encoding="utf-8")
    return tuple(ShopEntry(**row) for row in tomllib.loads(text)["entry"])


def example_text() -> str:
    """Return the invented profile that comes with areakit, as text."""
    return files("areakit").joinpath("data/shop_example.toml").read_text(encoding="utf-8")


def read_profile(text: str, *, name: str) -> Profile:
    """Return the profile that a text holds.

    Raises
    ------
    InputError
        If the text is not TOML; with one sentence for all entries that are not understood.
    """
    try:
        body = toml_from(text)
    except ValueError as error:
        raise InputError(
            f"The shop profile {name} is not valid TOML: {error}.", remedy='Write key = "value" lines.'
        ) from None
    return profile_from(body, name=name)


def profile_from(body: Mapping[str, Any], *, name: str) -> Profile:
    """Return the profile of a mapping from section to values, checked as :func:`read_profile` does."""
    if not is_name(name):
        raise InputError(
            f"{name[:40]!r} is not a name of a profile.", remedy="Use up to 40 small letters, digits and hyphens."
        )
    title, invented = body.get(_TITLE, name), body.get("invented", False)
    values = {section: rows for section, rows in body.items() if section not in (_TITLE, "invented")}
    troubles = [*_head_troubles(title, invented), *_troubles(values)]
    if troubles:
        more = f" And {len(troubles) - _MOST_TOLD} more." if len(troubles) > _MOST_TOLD else ""
        raise InputError(
            f"The shop profile {name} holds {counted(len(troubles), 'entry', 'entries')} to fix: "
            f"{'; '.join(words for _, words in troubles[:_MOST_TOLD])}.{more}",
            remedy="Correct them in the file, or answer the questions again.",
            fields={"areakit shop": "\n".join(path for path, _ in troubles)},
        )
    return Profile(name=name, title=str(title), invented=bool(invented), values=_texts(values))


def _head_troubles(title: Any, invented: Any) -> Iterator[Trouble]:
    if not isinstance(title, str) or not title.isprintable():
        yield "title", "title must be text of one line"
    if not isinstance(invented, bool):
        yield "invented", "invented must be true or false"


def _troubles(values: Mapping[str, Any]) -> Iterator[Trouble]:
    known = {entry.section for entry in shop_entries()}
    if not all(text.isprintable() for text in _every_text(values)):
        yield "", "a name or a value holds a sign that cannot be printed"
    for section, rows in values.items():
        if section not in known:
            yield section, f"{section} is not known; known are {', '.join(sorted(known))}"
        elif not isinstance(rows, Mapping):
            yield section, f"{section} must be a table, [{section}]"
        else:
            yield from _alike(section, rows)
            yield from _section_troubles(section, rows)


def _alike(section: str, names: Iterable[str]) -> Iterator[Trouble]:
    """Tell of names that differ by capitals alone, as the record does of jobs and bottles: one is a slip of the pen."""
    first: dict[str, str] = {}
    for name in names:
        other = first.setdefault(str(name).casefold(), str(name))
        if other != name:
            yield f"{section}.{name}", f"{section}.{other} and {section}.{name} differ by capitals alone"


def _every_text(value: Any) -> Iterator[str]:
    if isinstance(value, Mapping):
        for key, inner in value.items():
            yield str(key)
            yield from _every_text(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from _every_text(inner)
    else:
        yield str(value)


def _section_troubles(section: str, rows: Mapping[str, Any]) -> Iterator[Trouble]:
    entries = {entry.key: entry for entry in shop_entries() if entry.section == section}
    form = next(iter(entries.values())).form
    if form == "solution":
        yield from _solution_troubles(rows)
    elif form == "table":
        for name, row in rows.items():
            if not isinstance(row, Mapping):
                yield f"{section}.{name}", f"{section}.{name} must be a table, [{section}.{name}]"
                continue
            yield from _value_troubles(f"{section}.{name}", row, entries)
    elif form == "one":
        yield from _value_troubles(section, rows, entries)
    else:
        yield from _value_troubles(section, rows, dict.fromkeys(rows, entries[""]))


def _value_troubles(where: str, rows: Mapping[str, Any], entries: Mapping[str, ShopEntry]) -> Iterator[Trouble]:
    for key, value in rows.items():
        path, entry = f"{where}.{key}", entries.get(key)
        if entry is None:
            yield path, f"{path} is not known; known are {', '.join(entries)}"
            continue
        try:
            check_value(entry, value)
        except AreakitError as error:
            yield path, f"{path}: {error.message.rstrip('.')} (write it as {entry.example})"


def _solution_troubles(rows: Mapping[str, Any]) -> Iterator[Trouble]:
    for name, row in rows.items():
        if not isinstance(row, Mapping):
            yield f"solutions.{name}", f"solutions.{name} must be a table"
        elif row.get("method", METHODS[0]) not in METHODS:
            yield f"solutions.{name}.method", f"solutions.{name}.method must be one of {', '.join(METHODS)}"
    try:
        read_solutions(solutions_toml(rows))
    except InputError as error:
        yield "solutions", f"solutions: {error.message.rstrip('.')}"


def solutions_toml(rows: Mapping[str, Any]) -> str:
    """Return the solutions of a profile as the text of a solutions file."""
    plain = {name: {k: v for k, v in row.items() if k != "method"} for name, row in rows.items() if _is_table(row)}
    return "\n".join(write_solution(name, row) for name, row in plain.items())


def _is_table(row: Any) -> bool:
    return isinstance(row, Mapping)


def check_value(entry: ShopEntry, value: Any) -> None:
    """Raise an error of areakit where a value is not what its entry must be."""
    if not isinstance(value, str | int | float) or isinstance(value, bool) or not str(value).strip():
        raise InputError("it must be text", remedy=f"Write it as {entry.example}.")
    text = str(value).strip()
    if entry.kind.startswith("quantity:"):
        read_quantity(text, entry.kind.partition(":")[2], entry.path)
    else:
        _CHECKS[entry.kind](text)


def _choice(*names: str) -> Callable[[str], None]:
    def check(text: str) -> None:
        if text not in names:
            raise InputError(f"{text[:30]!r} is not one of {', '.join(names)}", remedy="Choose one of them.")

    return check


def _count(text: str) -> None:
    if not re.fullmatch(r"[1-9]\d{0,6}", text):
        raise InputError(f"{text[:20]!r} is not a whole number above zero", remedy="Write a number.")


def _day(text: str) -> None:
    try:
        date.fromisoformat(text)
    except ValueError:
        raise InputError(f"{text[:20]!r} is not a date", remedy="Write it as 2026-01-31.") from None


def _faces(text: str) -> None:
    from typing import get_args

    from areakit.geometry.part import Faces  # brings shapely

    _choice(*get_args(Faces))(text)


def _edge_make(text: str) -> None:
    _choice(*edge_makes())(text)


def _check_lengths(text: str) -> None:
    from areakit.service.measure import laid_in_field, read_check_lengths  # brings cv2

    if laid_in_field(text) is None:
        read_check_lengths(text)


def _layer(text: str) -> None:
    read_quantity(text.removesuffix("mean"), "length", "layer")


def _efficiency(text: str) -> None:
    if any(letter.isdigit() for letter in text):
        parse_with_tolerance(text, "ratio")


def _footprint(text: str) -> None:
    if sized_words(text):
        read_footprint_size(text)
    else:
        read_quantity(text, "area", "footprint")


_CHECKS: dict[str, Callable[[str], Any]] = {
    "text": lambda text: None,
    "base": _choice(*BASE_GROUPS),
    "processes": lambda text: None,
    "faces": _faces,
    "edge make": _edge_make,
    "market": _choice(*MARKETS),
    "use": _choice(*USES),
    "corners": _choice(*CORNERS),
    "by": _choice("amperes", "volts"),
    "thickness": lambda text: read_quantity(text, "length", "thickness"),
    "layer": _layer,
    "efficiency": _efficiency,
    "check lengths": _check_lengths,
    "footprint": _footprint,
    "count": _count,
    "date": _day,
}


def _texts(values: Mapping[str, Any]) -> Values:
    """Return the values with every plain one as text; lists stay, since a solution may hold one."""

    def text(value: Any) -> Any:
        if isinstance(value, Mapping):
            return {key: text(inner) for key, inner in value.items()}
        return value if isinstance(value, list) else str(value).strip()

    return {section: text(rows) for section, rows in values.items() if rows}


def profile_text(profile: Profile) -> str:
    """Return a profile as the commented TOML file that :func:`read_profile` reads back to the same values."""
    lines = [*_HEAD, f"title = {_quoted(profile.title)}"]
    if profile.invented:
        lines += [
            "# Everything below is invented, for trying things out: put your own in its place.",
            "invented = true",
        ]
    for section in dict.fromkeys(entry.section for entry in shop_entries()):
        lines += _section_lines(section, profile.table(section))
    return "\n".join(lines) + "\n"


def _section_lines(section: str, rows: Mapping[str, Any]) -> list[str]:
    entries = [entry for entry in shop_entries() if entry.section == section]
    if entries[0].form in ("table", "solution"):
        return _table_lines(section, rows, entries)
    lines = ["", f"[{section}]"]
    if entries[0].form == "one":
        for entry in entries:
            said = entry.key in rows
            value = _quoted(rows[entry.key]) if said else _quoted(entry.example)
            lines += [f"# {entry.asked}", f"{'' if said else '# '}{entry.key} = {value}"]
        return lines
    entry = entries[0]
    lines.append(f"# {entry.asked} each {'metal' if entry.form == 'metal' else 'name'}:")
    lines += [f"{_bare(key)} = {_quoted(value)}" for key, value in rows.items()]
    return lines if rows else [*lines, f"# {_SAMPLE[entry.form]} = {_quoted(entry.example)}"]


def _table_lines(section: str, rows: Mapping[str, Any], entries: list[ShopEntry]) -> list[str]:
    lines = [""]
    for entry in entries:
        lines.append(f"# {section}.NAME{'.' if entry.key else ''}{entry.key}: {entry.asked}")
    for name, row in rows.items():
        lines += [f"[{section}.{_bare(name)}]", *(f"{_bare(key)} = {_quoted(value)}" for key, value in row.items()), ""]
    return lines[:-1] if rows else lines


def _quoted(value: Any) -> str:
    return json.dumps(value if isinstance(value, list) else str(value), ensure_ascii=False)


def _bare(key: str) -> str:
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else json.dumps(key, ensure_ascii=False)
