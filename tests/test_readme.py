"""What the README shows is what the commands print."""

import re
from pathlib import Path

from click.testing import CliRunner

from areakit.cli.main import COMMANDS, group
from calibration.studies.demo_table import rows

README = (Path(__file__).resolve().parents[1] / "README.md").read_text(encoding="utf-8")


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
