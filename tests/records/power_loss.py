"""A disk that loses what was not synced: the writes of a real writer are traced, and every state that a loss of power
could leave is built from them.

A write, a truncation, a new file or a removed one is on the disk for certain only after the file (or, for names, its
folder) was synced. Until then any of them may be there or not, a write also by halves.
"""

from __future__ import annotations

import os
import random
import re
import subprocess
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path

_CALLS = "openat,pwrite64,write,ftruncate,fsync,fdatasync,unlink,link,linkat,rename,close,mkdir"
_LINE = re.compile(r"^\d+ +(\w+)\((.*)\) += (-?\d+)")
SECTOR = 512


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One call: what it did to which file, or an acknowledgement (``said``); ``linked`` has the other name as data."""

    kind: str
    path: str = ""
    at: int = 0
    data: bytes = b""


def traced(command: list[str], log: Path) -> list[Step]:
    """Run a command under strace; return its calls on files, and what it wrote to its standard output."""
    subprocess.run(
        ["strace", "-f", "-qq", "-xx", "-s", "100000000", "-e", f"trace={_CALLS}", "-o", str(log), *command],
        check=True, stdout=subprocess.DEVNULL,
    )  # fmt: skip
    return list(_steps(log.read_text(encoding="ascii").splitlines()))


def _steps(lines: Iterable[str]) -> Iterator[Step]:  # noqa: C901
    names: dict[int, str] = {}
    for line in lines:
        match = _LINE.match(line)
        if match is None or int(match.group(3)) < 0:
            continue
        call, told, result = match.group(1), match.group(2), int(match.group(3))
        texts = [bytes.fromhex(text.replace("\\x", "")) for text in re.findall(r'"((?:\\x[0-9a-f]{2})*)"', told)]
        first = told.split(",")[0]
        fd = int(first) if first.isdigit() else -1
        if call == "openat":
            names[result] = os.fsdecode(texts[0])
            if "O_CREAT" in told or "O_DIRECTORY" in told:
                yield Step(kind="made", path=names[result])
        elif call == "mkdir":
            yield Step(kind="folder", path=os.fsdecode(texts[0]))
        elif call == "write" and fd == 1:
            yield Step(kind="said", data=texts[0])
        elif call == "pwrite64" and fd in names:
            yield Step(kind="wrote", path=names[fd], at=int(told.rsplit(",", 1)[1]), data=texts[0])
        elif call == "ftruncate" and fd in names:
            yield Step(kind="cut", path=names[fd], at=int(told.rsplit(",", 1)[1]))
        elif call in {"fsync", "fdatasync"} and fd in names:
            yield Step(kind="synced", path=names[fd])
        elif call == "unlink":
            yield Step(kind="removed", path=os.fsdecode(texts[0]))
        elif call in {"link", "linkat"}:
            yield Step(kind="linked", path=os.fsdecode(texts[1]), data=texts[0])
        elif call == "close":
            names.pop(fd, None)


@dataclass(slots=True)
class Disk:
    """What is on the disk for certain, and what is only on its way there."""

    files: dict[str, bytes] = field(default_factory=dict)
    waiting: list[Step] = field(default_factory=list)
    said: bytes = b""
    turns: Counter[str] = field(default_factory=Counter)
    """How often a name was removed: what is made under it later is another file."""

    def take(self, step: Step) -> None:
        """Take one call."""
        name, step = step.path, replace(step, path=f"{step.path}#{self.turns[step.path]}")
        if step.kind in {"folder", "synced"} and not any(s.path == step.path for s in self.waiting):
            step = replace(step, path=name)
        if step.kind == "removed":
            self.turns[name] += 1
        if step.kind == "linked":
            other = os.fsdecode(step.data)
            step = replace(step, data=f"{other}#{self.turns[other]}".encode())
        if step.kind == "said":
            self.said += step.data
        elif step.kind == "synced":
            self._sync(step.path)
        elif step.kind != "made" or step.path not in self._names():
            self.waiting.append(step)

    def _names(self) -> set[str]:
        return set(self.files) | {step.path for step in self.waiting if step.kind == "made"}

    def _sync(self, path: str) -> None:
        """Settle what waits for a file; for a folder, the names in it."""
        mine = [s for s in self.waiting if self._is_settled_by(s, path)]
        for step in mine:
            _apply(self.files, step)
        self.waiting = [step for step in self.waiting if step not in mine]

    @staticmethod
    def _is_settled_by(step: Step, path: str) -> bool:
        if step.kind in {"made", "removed", "folder", "linked"}:
            return str(Path(step.path).parent) == path
        return step.path == path

    def after_power_loss(self, rng: random.Random) -> dict[str, bytes]:
        """Return one state of the files that a loss of power now can leave."""
        left, share = dict(self.files), rng.choice((0.0, 0.0, 0.5, 1.0, rng.random()))
        folders_lost = {s.path for s in self.waiting if s.kind == "folder" and rng.random() >= share}
        for step in self.waiting:
            if rng.random() < share:
                _apply(left, step if step.kind != "wrote" or rng.random() < 0.7 else _torn(step, rng))
        newest: dict[str, bytes] = {}
        for key in sorted(left, key=lambda key: int(key.rpartition("#")[2])):
            newest[key.rpartition("#")[0]] = left[key]
        return {name: data for name, data in newest.items() if not any(name.startswith(f + "/") for f in folders_lost)}


def _torn(step: Step, rng: random.Random) -> Step:
    """Return a write of which only some whole sectors arrived."""
    keep = SECTOR * rng.randrange(len(step.data) // SECTOR + 1)
    return Step(kind=step.kind, path=step.path, at=step.at, data=step.data[:keep])


def _apply(files: dict[str, bytes], step: Step) -> None:
    if step.kind == "removed":
        files.pop(step.path, None)
    elif step.kind == "linked":
        files[step.path] = files.get(step.data.decode(), b"")
    elif step.kind == "made":
        files.setdefault(step.path, b"")
    elif step.kind == "cut":
        files[step.path] = files.get(step.path, b"")[: step.at].ljust(step.at, b"\0")
    elif step.kind == "wrote":
        before = files.get(step.path, b"").ljust(step.at, b"\0")
        files[step.path] = before[: step.at] + step.data + before[step.at + len(step.data) :]
