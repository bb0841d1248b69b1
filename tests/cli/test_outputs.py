"""No command writes over what it reads: each output option of each command, tried on each kind of input."""

import hashlib
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from areakit.cli.command import OUTPUT, OUTPUT_OR_FOLDER
from areakit.cli.main import group
from areakit.datafiles import data_dir
from areakit.errors import FileError, InputError

BADGE = data_dir("demo_images") / "pierced-badge.jpg"


def run(*arguments: str) -> None:
    CliRunner().invoke(group, list(arguments), catch_exceptions=False, standalone_mode=False)


@pytest.fixture
def files(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> dict[str, Path]:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("AREAKIT_JOURNAL", str(tmp_path / "journal.sqlite"))
    made = {name: tmp_path / name for name in ("a.jpg", "a.svg", "plan.json", "rates.toml", "journal.sqlite", "t.csv")}
    monkeypatch.setenv("AREAKIT_SHOPS", str(tmp_path / "shops"))
    (tmp_path / "shops").mkdir()
    (tmp_path / "out").mkdir()
    for name in ("shops/main.toml", "prices.toml", "out/summary.csv", "out/results.jsonl"):
        made[name] = tmp_path / name
    made["shops/main.toml"].write_text('[rates]\nfile = "../prices.toml"\n')
    made["prices.toml"].write_text("")
    made["out/summary.csv"].write_text("photo\n../a.jpg\n")
    made["out/results.jsonl"].write_text("")
    made["a.jpg"].write_bytes(BADGE.read_bytes())
    made["a.svg"].write_text('<svg width="9mm" height="9mm" viewBox="0 0 9 9"><path d="M0 0H9V9H0z"/></svg>')
    made["t.csv"].write_text("photo\na.jpg\n")
    for name in ("plan.json", "rates.toml", "journal.sqlite"):
        made[name].write_text("{}")
    return made


@pytest.mark.parametrize(
    "line",
    [
        "measure a.jpg --overlay a.jpg",
        "measure a.jpg --save a.jpg",
        "measure . --save a.jpg",
        "measure ./a.jpg --overlay ../{folder}/a.jpg",
        "measure --table t.csv --results out --save t.csv",
        "measure --table t.csv --results out --save a.jpg",
        "measure --table t.csv --results out --save out/results.jsonl",
        "measure --table out/summary.csv --results out",
        "surface a.svg --unit mm --drawing a.svg",
        "surface a.svg --unit mm --export a.svg",
        "surface --from plan.json --save plan.json",
        "surface --shape square --mask a.svg --drawing a.svg",
        "quote --plan plan.json --rates rates.toml --pdf plan.json",
        "quote --plan plan.json --rates rates.toml --pdf rates.toml",
        "quote --plan plan.json --rates rates.toml --save plan.json",
        "check --claims plan.json --pdf plan.json",
        "plan a.jpg --process nickel-tank --map a.jpg",
        "plan a.jpg --process nickel-tank --lanes a.jpg",
        "plan a.jpg --process nickel-tank --save journal.sqlite",
        "plan a.jpg --process nickel-tank --save journal.sqlite-wal",
        "plan a.jpg --process nickel-tank --shop main --save shops/main.toml",
        "plan a.jpg --process nickel-tank --shop main --card prices.toml",
        "job report 2026-0001 --output journal.sqlite",
        "bottle label G1 --output journal.sqlite",
    ],
)
def test_an_output_onto_an_input_is_refused(line: str, files: dict[str, Path]) -> None:
    before = {path: hashlib.sha256(path.read_bytes()).digest() for path in files.values()}
    with pytest.raises(FileError, match=r"written over|two things"):
        run(*line.format(folder=files["a.jpg"].parent.name).split())
    assert {path: hashlib.sha256(path.read_bytes()).digest() for path in files.values()} == before


def commands(one: click.Command, name: str = "") -> list[tuple[str, click.Command]]:
    if not isinstance(one, click.Group):
        return [(name, one)]
    context = click.Context(one)
    found = [(each, one.get_command(context, each)) for each in one.list_commands(context)]
    return [pair for each, command in found if command for pair in commands(command, f"{name} {each}".strip())]


def test_every_option_that_names_a_file_to_write_is_known_as_one() -> None:
    """An option whose help says that it writes, and whose type does not, would skip the check above."""
    kinds = (type(OUTPUT), type(OUTPUT_OR_FOLDER))
    exclusive = {"job export"}  # refuses every file that is there
    for name, command in commands(group):
        for option in command.params:
            if not isinstance(option, click.Option) or name in exclusive:
                continue
            says = (option.help or "").startswith(("Write ", "Also write", "Draw the", "Where to write", "PDF"))
            if says and not option.is_flag and option.name not in {"lanes", "wagner"}:
                assert isinstance(option.type, kinds), f"{name} {option.opts}"


def test_two_outputs_of_one_name_are_refused(files: dict[str, Path]) -> None:
    with pytest.raises(FileError, match="two things"):
        run("surface", "a.svg", "--drawing", "new.svg", "--export", "new.svg")


def test_an_overlay_in_the_folder_of_photos_takes_no_photos_name(files: dict[str, Path]) -> None:
    taken = files["a.jpg"].with_name("a-overlay.jpg")
    taken.write_bytes(BADGE.with_name("foil-shape.jpg").read_bytes())
    with pytest.raises(FileError, match="written over"):
        run("measure", "a.jpg", "a-overlay.jpg", "--overlay", ".")
    assert taken.read_bytes() == BADGE.with_name("foil-shape.jpg").read_bytes()


def test_an_option_with_nothing_in_it_is_refused_by_every_command() -> None:
    """What an unset variable of a script leaves must not become the default in silence."""
    for name, command in commands(group):
        for option in command.params:
            if isinstance(option, click.Argument) or option.is_flag or option.nargs != 1:
                continue
            for empty in ([f"{option.opts[0]}="], [option.opts[0], ""]):
                told = CliRunner().invoke(group, [*name.split(), *empty])
                assert told.exit_code == 2, name
                assert f"The value of {option.opts[0]} is empty." in told.output, (name, told.output)
    assert "A value is empty." in CliRunner().invoke(group, ["job", "show", ""]).output
    assert CliRunner().invoke(group, ["schema"]).exit_code == 0


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("shop --list --set usual.base=brass", "--set is about one profile"),
        ("shop night --list", "name is about one profile"),
        ("shop --show --set usual.base=brass", "--set changes a profile"),
        ("shop --json --example", "--example changes a profile"),
        ("shop --example --from t.csv", "--from fills a profile"),
        ("shop --from t.csv --set usual.base=brass", "--set fills a profile"),
        ("shop main --example", "There is a profile main already"),
    ],
)
def test_a_shop_is_asked_for_one_thing_and_its_profile_is_not_lost_to_the_example(
    line: str, told: str, files: dict[str, Path]
) -> None:
    before = files["shops/main.toml"].read_bytes()
    with pytest.raises(InputError, match=told):
        run(*line.split())
    assert files["shops/main.toml"].read_bytes() == before
