"""What a file or a record says cannot give a terminal orders (control sequences of ECMA-48)."""

import io
import os
import subprocess
import sys
from pathlib import Path

import pytest

from areakit.cli.tame import Tame, tame


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("\x1b]0;title\x07name", "?]0;title?name"),
        ("\x1b[2Jgone\x1b[1;1H", "?[2Jgone?[1;1H"),
        ("\x9b2J\x7f\x00", "?2J??"),
        ("red \x1b[31mtext\x1b[0m", "red \x1b[31mtext\x1b[0m"),
        ("\r\x1b[Kbar", "\r\x1b[Kbar"),
        ("right\rwrong", "right?wrong"),
        ("a\r\nb\tc", "a\r\nb\tc"),
        ("1\u202e23\u2066", "1?23?"),
        ("a\udcffb", "a?b"),
        ("Čermák 金 שלום \u200d", "Čermák 金 שלום \u200d"),
    ],
)
def test_orders_become_question_marks_and_text_stays(text: str, shown: str) -> None:
    assert tame(text) == shown
    stream = io.StringIO()
    Tame(stream).write(text)
    Tame(stream).writelines([text])
    assert stream.getvalue() == shown * 2


def test_a_name_of_a_file_gives_no_orders_to_the_terminal(tmp_path: Path) -> None:
    name = os.fsencode(tmp_path) + b"/b\xff\x1b]0;x\x07.svg"
    with open(name, "wb") as file:
        file.write(b"<svg")
    run = subprocess.run([sys.executable, "-m", "areakit", "surface", name], capture_output=True, timeout=60)
    assert run.returncode in {2, 3}
    assert run.stdout + run.stderr
    assert not set(b"\x1b\x07\xff") & set(run.stdout + run.stderr)
    assert b"Traceback" not in run.stderr


def test_a_name_that_no_file_can_hold_is_refused_in_one_sentence(tmp_path: Path) -> None:
    name = os.fsencode(tmp_path) + b"/b\xff.svg"
    with open(name, "wb") as file:
        file.write(b'<svg xmlns="http://www.w3.org/2000/svg" width="9mm" viewBox="0 0 9 9"><path d="M1 1h5v5z"/></svg>')
    run = subprocess.run(
        [sys.executable, "-m", "areakit", "surface", name, "--save", str(tmp_path / "s.json")],
        capture_output=True,
        timeout=60,
    )
    assert run.returncode in {0, 2}
    assert b"Traceback" not in run.stderr
    assert run.returncode == 0 or b"Rename that file" in run.stderr
