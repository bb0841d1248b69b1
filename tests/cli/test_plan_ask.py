"""What areakit plan asks where somebody can answer, and says at once where nobody can."""

from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from areakit.cli.main import group
from areakit.cli.plan_ask import _ask, ask_pieces, completed
from areakit.errors import InputError
from areakit.service.plan_gaps import Gap, gaps
from areakit.service.shop import with_value
from areakit.service.shop_profile import Profile, example_text, read_profile

EXAMPLE = read_profile(example_text(), name="example")
PHOTO = {"photo": Path("badge.jpg")}


def asked(typed: dict, profile: Profile | None, answers: str) -> tuple[dict, str]:  # type: ignore[type-arg]
    """Return the entries after a conversation, and what was said."""
    kept: dict = {}  # type: ignore[type-arg]

    @click.command()
    def talk() -> None:
        kept.update(completed(typed, profile, brush=None, asks=True).entries)

    result = CliRunner().invoke(talk, [], input=answers)
    assert result.exception is None, result.output
    return kept, result.output


def test_with_a_profile_two_enters_are_enough() -> None:
    entries, said = asked(PHOTO, EXAMPLE, "\n\n")
    assert entries["thickness"] == "1.2 ± 0.05 mm"  # the usual stock, by its name
    assert entries["process"] == "nickel-gold-brush"
    assert said.count("[") == 2
    assert "[tag-brass]" in said
    assert "[nickel-gold-brush]" in said


def test_an_answer_goes_before_the_default() -> None:
    entries, _ = asked(PHOTO, EXAMPLE, "0.8 mm\nnickel-tank\n")
    assert (entries["thickness"], entries["process"]) == ("0.8 mm", "nickel-tank")
    assert entries["current_density"] == {"nickel": "3 A/dm2"}


def test_a_wrong_answer_is_asked_again() -> None:
    entries, said = asked({"area": "12 cm2"}, EXAMPLE, "magic\nnickel-tank\n")
    assert "no process 'magic'" in said
    assert entries["process"] == "nickel-tank"


def test_without_a_profile_everything_is_asked_and_what_can_stay_open_may() -> None:
    entries, said = asked({"area": "12 cm2"}, None, "gold-brush\n\n0.5 um\n72 %\n10 A/dm2\n\n")
    assert entries["layers"] == {"gold": "0.5 um"}
    assert entries["efficiency"] == {"gold": "72 %"}
    assert said.count("Enter leaves it open") == 3
    assert entries.get("base") is None
    assert entries.get("footprint") is None


def test_nobody_to_ask_hears_of_everything_at_once() -> None:
    with pytest.raises(InputError) as told:
        completed({}, EXAMPLE, brush=None, asks=False)
    assert told.value.message.startswith("The plan lacks 2 entries")
    with pytest.raises(InputError) as told:
        completed({"area": "12 cm2", "process": "nickel-gold-brush"}, None, brush=None, asks=False)
    for key in ("layer.nickel", "layer.gold", "efficiency.gold", "base", "footprint", "current_density.gold"):
        assert key in told.value.fields


def test_every_gap_named_closes_the_plan() -> None:
    """Giving what the message names leaves nothing to name: one round."""
    typed = {"area": "12 cm2", "process": "nickel-gold-brush"}
    named = {(one.entry, one.metal) for one in gaps(typed)}
    given = {
        "layers": {"nickel": "3 um", "gold": "0.5 um"},
        "efficiency": {"gold": "handbook", "nickel": "handbook"},
        "base": "brass",
        "footprint": "3 cm2",
        "current_density": {"nickel": "30 A/dm2", "gold": "10 A/dm2"},
    }
    assert named <= {*((key, metal) for key in given for metal in ("nickel", "gold")), ("base", ""), ("footprint", "")}
    assert gaps({**typed, **given}) == ()


@pytest.mark.parametrize(
    ("faces", "named"), [("all", True), ("walls", True), ("front-and-edges", True), ("one", False)]
)
def test_the_thickness_is_asked_where_edges_are_plated(faces: str, named: bool) -> None:
    found = [one.entry for one in gaps({**PHOTO, "faces": faces, "process": "nickel-tank"}, EXAMPLE)]
    assert ("thickness" in found) is named


@pytest.mark.parametrize(("shape", "named"), [("disk 30 mm", True), ("ring 20 x 17 mm", True),
                                              ("ring 20 x 17 x 4 mm", False), ("bar 9 x 8 x 7 mm", False)])  # fmt: skip
def test_the_thickness_of_a_plane_shape_is_asked(shape: str, named: bool) -> None:
    found = [one.entry for one in gaps({"shape": (shape,), "faces": "all", "process": "nickel-tank"}, EXAMPLE)]
    assert ("thickness" in found) is named


def test_the_number_of_pieces_has_that_of_the_photo_as_default() -> None:
    for typed, count in (("\n", 6), ("12\n", 12), ("0\n3\n", 3)):
        told = []

        @click.command()
        def talk(told: list[int] = told) -> None:
            told.append(ask_pieces(6))

        CliRunner().invoke(talk, [], input=typed)
        assert told == [count]


def test_a_question_shows_a_figure_and_no_option() -> None:
    asked = gaps({**PHOTO, "faces": "all", "process": "nickel-gold-brush"})
    assert len(asked) > 5
    for gap in asked:

        @click.command()
        def talk(gap: Gap = gap) -> None:
            _ask(gap, {}, set())

        words = CliRunner().invoke(talk, [], input="x\n").stdout
        assert "--" not in words
        assert gap.choices or "such as" in words, words
    (photo,) = gaps({"faces": "one", "process": "nickel-tank", "layers": {"": "3 um"}, "base": "brass"})[:1]
    assert photo.entry == "photo"

    @click.command()
    def ask_photo() -> None:
        _ask(photo, {}, set())

    assert "such as" not in CliRunner().invoke(ask_photo, [], input="x.jpg\n").stdout
    (thick,) = (one for one in asked if one.entry == "thickness")
    assert thick.example == "1.2 mm"


def test_show_says_where_each_value_is_from(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("AREAKIT_SHOPS", str(tmp_path))
    run = CliRunner().invoke
    assert "no shop profile yet" in run(group, ["shop", "--show"]).stdout
    assert "invented" in run(group, ["shop", "--example"]).stdout
    assert run(group, ["shop", "night", "--set", "usual.base=sterling"]).exit_code == 0
    shown = run(group, ["shop", "--show"]).stdout
    assert "(invented)" in shown
    assert any("usual.base" in line and "brass" in line and "default.toml" in line for line in shown.splitlines())
    assert any("hand.speed" in line and "nobody" in line for line in shown.splitlines())
    assert "sterling" in run(group, ["shop", "night", "--show"]).stdout
    listed = run(group, ["shop", "--list"]).stdout
    assert all(name in listed for name in ("default", "night", "example"))


def test_the_guided_questions_keep_what_is_answered(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every question answered with Enter keeps the profile; answers change it; wrong ones are asked again."""
    from areakit.cli.shop import _asked, _places
    from areakit.service.shop_profile import shop_entries

    told: list[Profile] = []

    @click.command()
    def talk() -> None:
        told.append(_asked(EXAMPLE))

    count = sum(len(_places(one, EXAMPLE)) for one in shop_entries() if one.ask)
    result = CliRunner().invoke(talk, [], input="\n" * count)
    assert result.exception is None, result.output
    assert told.pop().values == EXAMPLE.values
    CliRunner().invoke(talk, [], input="wood\nsterling\n" + "\n" * (count - 1))
    assert told.pop().values == with_value(EXAMPLE, "usual.base", "sterling").values
