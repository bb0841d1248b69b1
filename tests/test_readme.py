"""What the README shows is what the commands print."""

import os
import re
import subprocess
import sys
from pathlib import Path

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


def test_the_job_runs_from_photo_to_sign_off(tmp_path: Path) -> None:
    block = re.search(r"## One job.*?```sh\n(.*?)```", README, flags=re.DOTALL)
    assert block is not None
    (tmp_path / "demo_images").symlink_to(ROOT / "demo_images")
    script = f'set -e\nareakit() {{ "{sys.executable}" -m areakit "$@"; }}\n{block.group(1)}'
    environment = os.environ | {"AREAKIT_WHO": "bench", "PYTHONPATH": str(ROOT)}
    done = subprocess.run(
        ["bash", "-c", script], cwd=tmp_path, env=environment, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert "Released for delivery, inspector" in done.stdout
    assert "The journal is whole" in done.stdout
    assert (tmp_path / "traveller.pdf").read_bytes().startswith(b"%PDF")
