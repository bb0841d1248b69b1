"""The help of every command: what it does, an example that holds, options explained, exit codes; and completion."""

import re
import shlex
from collections.abc import Iterator
from pathlib import Path

import click
import pytest
from click.shell_completion import BashComplete
from click.testing import CliRunner

from areakit.cli.command import ALWAYS, Command, Group
from areakit.cli.main import COMMANDS, COMPLETION, group

ROOT = Path(__file__).resolve().parents[2]
LONG = 100
"""Widest line of a help text."""


def every_command() -> Iterator[tuple[str, click.Command]]:
    for name in COMMANDS:
        found = group.get_command(click.Context(group), name)
        assert found is not None
        yield name, found
        if isinstance(found, click.Group):
            for inner, one in found.commands.items():
                yield f"{name} {inner}", one


ALL = dict(every_command())


def help_of(name: str) -> str:
    result = CliRunner().invoke(group, [*name.split(), "--help"], prog_name="areakit", terminal_width=LONG)
    assert result.exit_code == 0, result.output
    return result.output


def examples(text: str) -> list[list[str]]:
    """Return the arguments of each areakit command that a help text shows, those behind a pipe too."""
    shown = re.search(r"\n  Examples?:(.*?)(?=\n\n|\Z)", text, flags=re.DOTALL)
    assert shown is not None, text
    joined = shown.group(1).replace("\\\n", " ").replace("\\", " ")
    lines = [line.strip() for line in joined.splitlines() if line.strip().startswith("areakit ")]
    pieces = [piece for line in lines for piece in re.split(r" \| ", line)]
    return [shlex.split(piece.split(" > ")[0])[1:] for piece in pieces]


@pytest.mark.parametrize("name", ALL)
def test_every_help_has_an_example_that_parses(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    found = examples(help_of(name))
    assert any(words[: len(name.split())] == name.split() for words in found), found
    for words in found:
        for word in words:
            if re.fullmatch(r"[\w-]+\.\w+", word):
                (tmp_path / word).touch()
        command, rest = group.get_command(click.Context(group), words[0]), words[1:]
        while isinstance(command, click.Group):
            command, rest = command.commands[rest[0]], rest[1:]
        assert command is not None, words
        command.make_context(words[0], rest, resilient_parsing=False)


@pytest.mark.parametrize("name", ALL)
def test_every_help_names_its_exit_codes_at_the_end(name: str) -> None:
    text = help_of(name)
    command = ALL[name]
    assert isinstance(command, Command | Group)
    order = [text.index(heading) for heading in ("Usage:", "Example", "Options:", "Exit codes:")]
    assert order == sorted(order)
    for code in {**ALWAYS, **command.exits}:
        assert re.search(rf"^  {code} +\w", text.split("Exit codes:")[1], flags=re.MULTILINE), code


@pytest.mark.parametrize("name", ALL)
def test_every_option_says_what_it_is(name: str) -> None:
    for option in ALL[name].params:
        if isinstance(option, click.Option) and not option.hidden:
            assert option.help, option.name
            example = re.search(r"Example: (--[a-z-]+)", option.help)
            assert example is None or example.group(1) in option.opts
            assert ("Example: " in option.help) == (example is not None), f"{option.name}: write the option out"
            plain = option.is_flag or isinstance(option.type, click.Choice)
            assert plain or option.metavar, f"{option.name} shows a type in place of what to write"


@pytest.mark.parametrize("name", ALL)
def test_the_line_in_the_list_is_the_same_sentence_style(name: str) -> None:
    first = help_of(name).split("\n\n")[1].strip()
    assert first[0].isupper()
    assert re.match(r"[A-Z][a-z]+ ", first), first
    assert not re.search(r"\b(please|simply|just|easily|e\.g\.|i\.e\.)\b", help_of(name))


def test_the_first_help_shows_all_commands_exit_codes_and_completion() -> None:
    text = CliRunner().invoke(group, ["--help"], prog_name="areakit", terminal_width=LONG).output
    for name in COMMANDS:
        assert re.search(rf"^  {name}  ", text, flags=re.MULTILINE)
    assert "Exit codes:" in text
    for line in COMPLETION.values():
        assert line in text
    assert "safety data sheets" in " ".join(text.split())


def completed(*words: str) -> list[str]:
    """Return what bash offers for the last word, by click's own completion."""
    shell = BashComplete(group, {}, "areakit", "_AREAKIT_COMPLETE")
    return [item.value for item in shell.get_completions(list(words[:-1]), words[-1])]


def test_bash_completes_commands_options_and_choices() -> None:
    assert completed("mea") == ["measure"]
    assert "--check-lengths" in completed("measure", "--ch")
    assert completed("job", "sa") == ["salvage"]
    assert completed("plan", "--use", "jew") == ["jewellery"]


def test_the_line_for_bash_is_answered_by_click(monkeypatch: pytest.MonkeyPatch) -> None:
    match = re.search(r"(_\w+_COMPLETE)=(\w+)", COMPLETION["bash"])
    assert match is not None
    result = CliRunner(env={match.group(1): match.group(2)}).invoke(group, [], prog_name="areakit")
    assert result.exit_code == 0
    assert "complete -o nosort -F" in result.output
