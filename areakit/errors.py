"""Every error that areakit raises on purpose.

::

    AreakitError                 message: what is wrong, with the number; remedy: what to do next
    ├ InputError (ValueError)    wrong usage or unreadable input                    exit code 2
    │ ├ UnitError                text that is not one plain number and one unit
    │ ├ RangeError               a figure outside what the formula or the shop allows
    │ └ FileError                a file that cannot be read or written
    ├ MeasurementError           no trustworthy number in this photo or drawing     exit code 3
    │ ├ MarkNotFound             no reference mark, or too little of it
    │ ├ ScaleUnreliable          the mark is seen, but its scale cannot be trusted
    │ ├ OutlineNotFound          no part, or its edge cannot be followed
    │ └ OutlineInvalid           an outline that encloses no honest area
    ├ WorkerLost                 one item of many, whose process ended              exit code 3
    ├ RecordError                the store of jobs                                  exit code 4
    │ ├ RecordUnreadable         damaged, newer, or not a store
    │ ├ RecordNotWritten         disk full, or the store may not be written
    │ ├ RecordChanged            somebody else wrote first
    │ └ NotReady                 a release that the record does not bear out
    ├ CertificateError           a certificate that the record does not bear out
    │ ├ CodeChanged              a code whose own digits do not agree               exit code 6
    │ ├ OtherJob                 a code of another job                              exit code 7
    │ └ RecordDiffers            the record, or what is stated of it, was changed   exit code 8
    └ LibraryMissing             a library that areakit rests on cannot be loaded   exit code 5

Anything else that escapes is a defect and looks like one.

A remedy is plain words. The fields that it is about are data beside it, a key and an example each, and whoever shows
it adds the names that they have there: options of the command line, arguments in Python, entries of the page.
"""

from __future__ import annotations

from collections.abc import Mapping
from string import ascii_letters, digits
from typing import Any, ClassVar

Fields = Mapping[str, str]
"""Key of a field to an example or nothing. ``layer.gold`` is that of one metal; a command is a key as it is
typed, with the entries of its file that are meant, one a line."""
COMMAND = "areakit "
_LONGEST = 2400
_BARE = frozenset(f"{ascii_letters}{digits}-_.,")


class AreakitError(Exception):
    """Base of all: one sentence on what is wrong, one on what to do next."""

    exit_code: ClassVar[int] = 1

    def __init__(self, message: str, *, remedy: str, fields: Fields | None = None, code: str | None = None) -> None:
        message = _of_bounded_length(message)
        super().__init__(message)
        self.message = message
        self.remedy = remedy
        self.fields = dict(fields or {})
        self.code = code or _shouting(type(self).__name__)

    def __str__(self) -> str:
        return f"{self.message} {in_python(self.remedy, self.fields)}"

    @property
    def in_shell(self) -> str:
        """Both sentences, with the options and commands that the second is done with."""
        return f"{self.message} {in_shell(self.remedy, self.fields)}"

    def __reduce__(self) -> tuple[Any, ...]:
        """Pickle by plain text: a refusal must come back whole from a worker process."""
        return _rebuild, (type(self), self.message, self.remedy, self.fields, self.code)


def in_shell(remedy: str, fields: Fields) -> str:
    """Return a remedy with the options and commands that it is done with."""
    return _with_names(remedy, options(fields))


def in_python(remedy: str, fields: Fields) -> str:
    """Return a remedy with the arguments that it is done with in Python."""
    return _with_names(remedy, [_argument(key, fields[key]) for key in fields if not key.startswith(COMMAND)])


def options(fields: Fields) -> list[str]:
    """Return fields as options of the command line, and commands as they are typed."""
    return [key if key.startswith(COMMAND) else _option(key, example) for key, example in fields.items()]


def _option(key: str, example: str) -> str:
    name, _, of = key.partition(".")
    shown = example if not set(example) - _BARE else f'"{example}"'
    return f"--{name.replace('_', '-')} {of}{'=' if of else ''}{shown}".rstrip(" =")


def _argument(key: str, example: str) -> str:
    name, _, of = key.partition(".")
    if of:
        return f'{name}={{"{of}": "{example or "..."}"}}'
    return f'{name}="{example}"' if example else name


def _with_names(remedy: str, names: list[str]) -> str:
    return f"{remedy.removesuffix('.')} ({', '.join(names)})." if names else remedy


def _of_bounded_length(text: str) -> str:
    """A refusal repeats what it was given; what it was given may be a page long."""
    return text if len(text) <= _LONGEST else f"{text[: _LONGEST // 2]} … {text[-_LONGEST // 2 :]}"


def _rebuild(kind: type[AreakitError], message: str, remedy: str, fields: dict[str, str], code: str) -> AreakitError:
    error = kind(message, remedy=remedy, fields=fields)
    error.code = code
    return error


class WorkerLost(AreakitError):
    """The process that worked on one item of many ended without an answer."""

    exit_code = 3


class InputError(AreakitError, ValueError):
    """Wrong usage or unreadable input."""

    exit_code = 2


class UnitError(InputError):
    """Text that is not one plain number and one known unit."""


class RangeError(InputError):
    """A figure outside the range in which the answer would mean anything."""


class FileError(InputError):
    """A file that cannot be read or written."""


class MeasurementError(AreakitError):
    """No trustworthy number can be had from this photo or drawing."""

    exit_code = 3


class MarkNotFound(MeasurementError):
    """No reference mark, or too little of it."""


class ScaleUnreliable(MeasurementError):
    """The mark is seen, but the scale it gives cannot be trusted."""


class OutlineNotFound(MeasurementError):
    """No part, or a part whose edge cannot be followed."""


class OutlineInvalid(MeasurementError):
    """An outline that encloses no honest area."""


class RecordError(AreakitError):
    """The store of jobs refuses."""

    exit_code = 4


class RecordUnreadable(RecordError):
    """The store is damaged, newer than this program, or not a store."""


class RecordNotWritten(RecordError):
    """The disk is full, or the store may not be written."""


class RecordChanged(RecordError):
    """Somebody else wrote to the record first."""


class NotReady(RecordError):
    """A job is to be released, and what stands in its record does not meet what it asks for."""


class CertificateError(AreakitError):
    """A certificate is not borne out by the record."""


class CodeChanged(CertificateError):
    """The code of a certificate was changed or mistyped."""

    exit_code = 6


class OtherJob(CertificateError):
    """The code of a certificate is that of another job."""

    exit_code = 7


class RecordDiffers(CertificateError):
    """The record was changed, or the certificate states what the record does not."""

    exit_code = 8


class LibraryMissing(AreakitError):
    """A library that areakit rests on is not installed, or lacks one of its own."""

    exit_code = 5


def _shouting(name: str) -> str:
    """Turn ``MarkNotFound`` into ``MARK_NOT_FOUND``."""
    return "".join("_" + c if c.isupper() and i else c for i, c in enumerate(name)).upper()
