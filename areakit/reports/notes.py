"""Notes as a person reads them: each once, with the parts that it holds for and the span of its figures."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass, field

from areakit.errors import Fields, in_shell
from areakit.flags import STANDS_ALONE, Flag, spanned
from areakit.plural import rows_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """One note in words; ``parts`` is empty where it holds for the whole photo, drawing or plan."""

    code: str
    parts: tuple[int, ...]
    message: str
    remedy: str
    times: int = 1
    place: int | None = None
    fields: Fields = field(default_factory=dict, hash=False)

    @property
    def text(self) -> str:
        """The message and what to do, as the command line says it."""
        return f"{self.message} {in_shell(self.remedy, self.fields)}"

    @property
    def where(self) -> str:
        """The parts and how often, in words: ``parts 1 to 4 and 6``; empty where there is nothing to say."""
        words = _parts_in_words(self.parts) if self.parts else ""
        if self.place is not None:
            words += f"{', ' if words else ''}place {self.place}"
        return words or (f"{self.times} times" if self.times > 1 else "")


def notes(flags: Iterable[Flag]) -> list[Note]:
    """Return each note once, in the order of the flags.

    Notes of several parts that differ in their figures alone are drawn together, and each figure becomes the span
    from the smallest to the largest. Notes of the whole, and those that ask about one place, stay apart.
    """
    groups: dict[Hashable, list[Flag]] = {}
    for flag in flags:
        groups.setdefault(_kind(flag), []).append(flag)
    return [_note(group) for group in groups.values()]


def _kind(flag: Flag) -> Hashable:
    """Return what flags that are told as one have in common: their code and every word, but not their numbers."""
    alone = flag.part is None or flag.place is not None or flag.code in STANDS_ALONE or not flag.figures
    words = [(name, value if isinstance(value, str) else None) for name, value in flag.figures.items()]
    told = (flag.place, flag.message, flag.remedy) if alone else tuple(words)
    return flag.code, flag.part is None, told


def _note(group: Sequence[Flag]) -> Note:
    message, remedy = spanned(group)
    return Note(
        code=group[0].code,
        parts=tuple(sorted({flag.part for flag in group if flag.part is not None})),
        message=message,
        remedy=remedy,
        times=len(group),
        place=group[0].place,
        fields=group[0].fields,
    )


def _parts_in_words(parts: Sequence[int]) -> str:
    rows = rows_of(parts)
    words = [word for row in rows for word in ([f"{row[0]} to {row[-1]}"] if len(row) > 2 else map(str, row))]
    listed = words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
    return f"part{'s' if len(parts) > 1 else ''} {listed}"
