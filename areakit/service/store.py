"""The journal as a whole: export, import, backup, check, salvage."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

from areakit.errors import FileError, RecordUnreadable
from areakit.output import write_whole
from areakit.records import damage, exchange
from areakit.records.damage import Salvaged
from areakit.records.exchange import Taken
from areakit.service.desk import Desk
from areakit.service.newest import older_copy

_LARGEST_IMPORT = 2_000_000_000


def export(desk: Desk, numbers: tuple[str, ...] = (), *, form: str = "jsonl", output: Path | None = None) -> None:
    """Write the named jobs, or all records, as ``jsonl`` or ``csv``, to a file or to standard output."""
    keys = tuple(("job", number) for number in numbers)
    with desk.to_read() as journal:
        if form == "csv":
            _write(exchange.to_csv(exchange.chosen_events(journal, keys)), output)
            return
        files = exchange.files_of(journal, exchange.chosen_events(journal, keys))
        lines = exchange.to_lines(exchange.chosen_events(journal, keys), files)
        _write("".join(f"{line}\n" for line in lines), output)


def _write(text: str, output: Path | None) -> None:
    if output is None:
        sys.stdout.write(text)
        return
    write_whole(output, text.encode(), replace=False)


def take_in(desk: Desk, path: Path, *, gaps: bool = False) -> Taken:
    """Add what an export holds and the journal does not."""
    try:
        if path.stat().st_size > _LARGEST_IMPORT:
            raise FileError(f"{path} is larger than 2 GB.", remedy="Import it in pieces.")
        text = path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        raise FileError(
            f"{path} is not text in UTF-8.",
            remedy="Give a file that was exported from a journal.",
            fields={"areakit job export": ""},
        ) from None
    except OSError as error:
        raise FileError(f"{path} cannot be read: {error.strerror}.", remedy="Check the name of the file.") from None
    events, files = exchange.read_export(text)
    if not events and not files:
        raise FileError(f"{path} holds no entry and no file.", remedy="Export the journal again.")
    with desk.to_write() as journal:
        return exchange.take_in(journal, events, files, gaps=gaps)


def back_up(desk: Desk, target: Path) -> int:
    """Copy the whole journal, look through the copy, and return the number of its entries."""
    with desk.to_read() as journal:
        journal.back_up(target)
    return check(Desk(path=target, who=desk.who, now=desk.now))


def check(desk: Desk) -> int:
    """Return the number of entries of a whole journal.

    Raises
    ------
    RecordUnreadable
        If anything in it is damaged; the message names the first faults.
    RecordChanged
        If it is an older copy of what it was.
    """
    with desk.to_read() as journal:
        if desk.marks is not None and (older := older_copy(journal, desk.marks.of(desk.path))) is not None:
            raise older
        faults = journal.faults()
        if faults:
            more = f" (and {len(faults) - 3} more)" if len(faults) > 3 else ""
            raise RecordUnreadable(
                f"The journal {desk.path} is damaged: {'; '.join(faults[:3])}{more}.",
                remedy="Save what is whole, or go back to a backup.",
                fields={"areakit job salvage": ""},
            )
        return sum(1 for _ in journal.every_event())


def salvage(desk: Desk, target: Path) -> Salvaged:
    """Write what is whole in a damaged journal as JSON Lines; return it, with how much is known to be lost.

    Of a journal that was cut short nothing inside says how many entries it had; the number that was seen last, kept
    outside of it, does.
    """
    if not desk.path.is_file():
        raise FileError(f"There is no journal {desk.path}.", remedy="Name the journal.", fields={"journal": ""})
    saved = damage.salvage(desk.path)
    seen = None if desk.marks is None else desk.marks.of(desk.path)
    if seen is not None:
        saved = replace(saved, lost_events=max(saved.lost_events, seen.number - len(saved.events)))
    _write("".join(f"{line}\n" for line in exchange.to_lines(saved.events, saved.files)), target)
    return saved
