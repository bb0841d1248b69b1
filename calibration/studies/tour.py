"""The tour of ``demo_images/tour.md`` as data: its commands, what they print, and a way to run them and compare.

Its commands stand in blocks marked ``sh``; a block marked ``text`` that follows shows
what all commands of the block before it print. A line ``...`` stands for any number of lines that were left out; a date
stands for any date, as a time of day with seconds does, and a digest for any digest.
"""

from __future__ import annotations

import os
import re
import shlex
import shutil
from contextlib import chdir
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
TOUR = ROOT / "demo_images" / "tour.md"
CUT = "..."

_BLOCK = re.compile(r"```sh\n(.*?)```\n(?:\n```text\n(.*?)```)?", flags=re.DOTALL)
_DIFFERS = (
    (re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\+\d\d:\d\d"), "<moment>"),
    (re.compile(r"\d{4}-\d\d-\d\d"), "<date>"),
    (re.compile(r"\b[0-9a-f]{12,64}\b"), "<digest>"),
)
"""What differs from run to run, and nothing else: moments, dates, digests of files."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """Commands that are run together, and what the tour shows of their output; None where it shows nothing."""

    commands: tuple[str, ...]
    shown: str | None


def tour(text: str | None = None) -> list[Step]:
    """Return the steps of the tour, in order."""
    text = TOUR.read_text(encoding="utf-8") if text is None else text
    return [Step(commands=_lines(commands), shown=shown or None) for commands, shown in _BLOCK.findall(text)]


def _lines(block: str) -> tuple[str, ...]:
    """Return the commands of a block; one that ends in a backslash goes on."""
    return tuple(line for line in block.replace("\\\n", " ").splitlines() if line.strip())


class Shop:
    """A folder in which the tour's commands run, in this process; it remembers where it is and what was exported."""

    def __init__(self, folder: Path) -> None:
        (folder / "demo_images").symlink_to(ROOT / "demo_images")
        self.here = folder
        self.environment = {"AREAKIT_JOURNAL": str(folder / "none.sqlite")}

    def run(self, step: Step) -> str:
        """Run the commands of a step and return what they print; AssertionError where one fails."""
        return "".join(self._run(words) for command in step.commands for words in _chained(command))

    def _run(self, words: list[str]) -> str:
        match words:
            case ["areakit", *arguments]:
                return self._areakit(arguments)
            case ["export", *settings]:
                self.environment.update(dict(setting.split("=", 1) for setting in settings))
            case ["mkdir", "-p", folder]:
                (self.here / folder).mkdir(parents=True, exist_ok=True)
            case ["cp", source, target]:
                shutil.copy(self.here / source, self.here / target)
            case ["cd", folder]:
                self.here = self.here / folder
            case [".", ".venv/bin/activate"]:
                pass
            case _:
                raise AssertionError(f"The tour runs {shlex.join(words)}, which nobody taught it.")
        return ""

    def _areakit(self, arguments: list[str]) -> str:
        from click.testing import CliRunner

        from areakit.cli.main import group

        with chdir(self.here):
            done = CliRunner(env=self.environment).invoke(group, arguments, prog_name="areakit")
        assert done.exit_code == 0, f"areakit {shlex.join(arguments)}\n{done.output}\n{done.exception}"
        return done.output


def _chained(command: str) -> list[list[str]]:
    """Return the words of each command of a line; ``$(date +%F)`` is today."""
    import datetime

    today = datetime.datetime.now(tz=datetime.UTC).date().isoformat()
    words = shlex.split(command.replace("$(date +%F)", today), comments=True)
    found: list[list[str]] = [[]]
    for word in words:
        if word == "&&":
            found.append([])
        else:
            found[-1].append(word)
    return found


def settled(text: str) -> list[str]:
    """Return the lines with everything that differs from run to run replaced, and no blanks at their ends."""
    for pattern, word in _DIFFERS:
        text = pattern.sub(word, text)
    return [line.rstrip() for line in text.strip().splitlines()]


def fits(shown: str, printed: str) -> bool:
    """Tell whether what is shown is what was printed, a line ``...`` standing for any lines."""
    pattern = "".join(r"(?:.*\n)*?" if line == CUT else re.escape(line) + r"\n" for line in settled(shown))
    return re.fullmatch(pattern, "".join(f"{line}\n" for line in settled(printed))) is not None


def clean_environment() -> None:
    """Take areakit's own settings out of this process, so that the tour starts as a stranger does."""
    for name in [name for name in os.environ if name.startswith("AREAKIT_")]:
        del os.environ[name]
