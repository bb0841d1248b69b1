"""An error carries the fields that its remedy is about as data; each surface adds its own names."""

import ast
import pickle
import re
from collections.abc import Iterator
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from areakit import errors, flags
from areakit.cli.main import group
from areakit.errors import Fields, InputError, in_python, in_shell
from areakit.flags import flag

PACKAGE = Path(errors.__file__).parent


@pytest.mark.parametrize(
    ("fields", "shell", "python"),
    [
        ({}, "Give it.", "Give it."),
        ({"thickness": "1.2 mm"}, 'Give it (--thickness "1.2 mm").', 'Give it (thickness="1.2 mm").'),
        ({"edge_form": ""}, "Give it (--edge-form).", "Give it (edge_form)."),
        ({"form": "turned"}, "Give it (--form turned).", 'Give it (form="turned").'),
        ({"layer.gold": "0.5 um"}, 'Give it (--layer gold="0.5 um").', 'Give it (layer={"gold": "0.5 um"}).'),
        ({"factor.gold": ""}, "Give it (--factor gold).", 'Give it (factor={"gold": "..."}).'),
        ({"areakit job check": ""}, "Give it (areakit job check).", "Give it."),
        ({"hole": "1.0,2.0", "metal": "1.0,2.0"}, "Give it (--hole 1.0,2.0, --metal 1.0,2.0).",
         'Give it (hole="1.0,2.0", metal="1.0,2.0").'),
    ],
)  # fmt: skip
def test_a_remedy_gets_the_names_of_who_shows_it(fields: Fields, shell: str, python: str) -> None:
    assert in_shell("Give it.", fields) == shell
    assert in_python("Give it.", fields) == python


def test_an_error_keeps_its_fields_on_the_way_from_a_worker_and_says_them_in_python() -> None:
    error = pickle.loads(pickle.dumps(InputError("It lacks one.", remedy="Give it.", fields={"thickness": "1 mm"})))
    assert error.fields == {"thickness": "1 mm"}
    assert str(error) == 'It lacks one. Give it (thickness="1 mm").'


def test_a_caution_names_its_place_as_the_answer_does() -> None:
    told = flag("LOOKS_UNDECIDED", area_mm2=3.0, x_mm=12.34, y_mm=-5.0, percent=1.0)
    assert dict(told.fields) == {"hole": "12.3,-5.0", "metal": "12.3,-5.0"}
    assert "12.3" not in told.remedy


def fields_of(path: Path) -> set[str]:
    """The keys of fields that a module names; of a key that is put together, what stands before the metal."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.keyword) and node.arg == "fields" and isinstance(node.value, ast.Dict):
            for key in node.value.keys:
                first = key.values[0] if isinstance(key, ast.JoinedStr) else key
                if isinstance(first, ast.Constant):
                    found.add(str(first.value))
    return found


def options_of(command: click.Command, name: str) -> Iterator[str]:
    """Every option of a command and of those below it, and the commands themselves."""
    yield name
    for one in command.params:
        yield from (text.removeprefix("--").replace("-", "_") for text in one.opts)
    if isinstance(command, click.Group):
        for below in command.list_commands(click.Context(command)):
            made = command.get_command(click.Context(command), below)
            assert made is not None
            yield from options_of(made, f"{name} {below}")


def test_every_field_is_an_option_and_every_command_is_one() -> None:
    there = set(options_of(group, "areakit"))
    named = {key for path in PACKAGE.rglob("*.py") for key in fields_of(path)}
    named |= {key for fields in flags._FIELDS.values() for key in fields}
    assert len(named) > 80
    typed = {key for key in named if key.startswith("areakit ")}
    written = {found[0] for key in typed if (found := re.match(r"areakit(?: [a-z][a-z-]*)+", key))}
    known = tuple(f"{one} " for one in there if " " in one)
    assert [one for one in written if not f"{one} ".startswith(known)] == []
    assert {key.split(".")[0] for key in named - typed} - there == set()


def test_the_command_line_names_the_option_with_its_example() -> None:
    done = CliRunner().invoke(group, ["surface", "--shape", "disk 30 mm", "--faces", "all"])
    assert isinstance(done.exception, InputError)
    assert dict(done.exception.fields)["thickness"] == "1.2 mm"
