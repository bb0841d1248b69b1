"""What the README shows is what the commands print."""

import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from areakit.cli.main import COMMANDS, group
from calibration.studies.demo_table import rows

ROOT = Path(__file__).resolve().parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def test_the_first_paragraph_states_the_job() -> None:
    first = README.split("\n\n")[1]
    assert first.startswith("A practitioner electroplates small irregular parts")
    assert "area" in first


def test_the_demo_prints_what_is_shown(tmp_path: Path) -> None:
    shown = re.search(r"```text\n(.*?)```", README, flags=re.DOTALL)
    assert shown is not None
    result = CliRunner().invoke(group, ["demo", "--output", str(tmp_path)])
    assert result.exit_code == 0, result.output
    printed = result.output.replace(str(tmp_path), "areakit-out")
    assert printed.strip() == shown.group(1).strip()


def test_the_accuracy_table_is_what_the_tool_measures() -> None:
    for row in rows():
        assert row in README


def test_every_command_that_is_named_exists() -> None:
    named = set(re.findall(r"areakit ([a-z-]+)", README)) - {"finds"}
    assert named & set(COMMANDS)
    for name in named:
        assert name in COMMANDS or not re.search(rf"`areakit {name}\b", README), name


def test_the_job_runs_from_photo_to_sign_off(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each line as a shell would run it, in this process: a start of its own for each would take most of the time."""
    block = re.search(r"## One job.*?```sh\n(.*?)```", README, flags=re.DOTALL)
    assert block is not None
    (tmp_path / "demo_images").symlink_to(ROOT / "demo_images")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("AREAKIT_WHO", "bench")
    said = "".join(shell(line, monkeypatch) for line in block.group(1).splitlines())
    assert "Released for delivery, inspector" in said
    assert "The journal is whole" in said
    assert (tmp_path / "traveller.pdf").read_bytes().startswith(b"%PDF")


def shell(line: str, monkeypatch: pytest.MonkeyPatch) -> str:
    """Run one line of the README: ``export NAME=value``, or ``areakit ...`` with ``> file`` at its end."""
    words = shlex.split(line)
    if words[0] == "export":
        name, _, value = words[1].partition("=")
        monkeypatch.setenv(name, value)
        return ""
    assert words[0] == "areakit", line
    arguments, target = (words[1:-2], words[-1]) if words[-2] == ">" else (words[1:], None)
    done = CliRunner().invoke(group, arguments)
    assert done.exit_code == 0, f"{line}\n{done.output}"
    if target is None:
        return done.stdout
    Path(target).write_text(done.stdout, encoding="utf-8")
    return ""


def test_a_line_runs_in_a_shell_too(tmp_path: Path) -> None:
    script = f'set -e\nareakit() {{ "{sys.executable}" -m areakit "$@"; }}\nareakit job new "club badge" --number J1'
    environment = os.environ | {"AREAKIT_JOURNAL": "shop.sqlite", "AREAKIT_WHO": "bench", "PYTHONPATH": str(ROOT)}
    done = subprocess.run(
        ["bash", "-c", script], cwd=tmp_path, env=environment, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert (tmp_path / "shop.sqlite").is_file()
