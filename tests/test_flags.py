"""The catalogue of notes: whole, plain, and each used somewhere."""

import re
from pathlib import Path
from string import Formatter

import pytest

from areakit import flags
from areakit.flags import flag, known_codes

PACKAGE = Path(flags.__file__).parent
SOURCE = {path: path.read_text(encoding="utf-8") for path in PACKAGE.rglob("*.py") if path.name != "flags.py"}


@pytest.mark.parametrize("code", known_codes())
def test_a_caution_is_a_sentence_and_says_what_to_do(code: str) -> None:
    message, remedy = flags._CATALOGUE[code]
    assert re.fullmatch(r"[A-Z][A-Z_]*", code)
    assert message.endswith((".", "}"))  # some end with a sentence that is filled in
    assert remedy.endswith((".", "}"))
    assert not message.startswith("{") or message.split("}")[1].strip()


@pytest.mark.parametrize("code", known_codes())
def test_every_caution_is_given_somewhere(code: str) -> None:
    assert any(f'"{code}"' in text for text in SOURCE.values())


def test_every_caution_given_is_in_the_catalogue() -> None:
    given = {code for text in SOURCE.values() for code in re.findall(r'\bflag\(\s*"([A-Z_]+)"', text)}
    assert given
    assert given <= set(known_codes())


@pytest.mark.parametrize("code", known_codes())
def test_a_caution_needs_all_its_figures(code: str) -> None:
    names = {name for text in flags._CATALOGUE[code] for _, name, _, _ in Formatter().parse(text) if name}
    if names:
        with pytest.raises(KeyError):
            flag(code)


@pytest.mark.parametrize("code", flags._FIELDS)
def test_a_caution_with_fields_is_in_the_catalogue_and_takes_its_figures_from_there(code: str) -> None:
    figures = {name for text in flags._CATALOGUE[code] for _, name, _, _ in Formatter().parse(text) if name}
    texts = [text for pair in flags._FIELDS[code].items() for text in pair]
    named = {name for text in texts for _, name, _, _ in Formatter().parse(text) if name}
    assert named <= figures


def test_a_caution_carries_its_figures_and_its_part() -> None:
    made = flag("TILT_HIGH", part=3, tilt_deg=23.4)
    assert "23°" in made.message
    assert (made.code, made.part) == ("TILT_HIGH", 3)
    with pytest.raises(KeyError):
        flag("NO_SUCH_CAUTION")
