"""What the README shows is what the commands print, and its pictures are those of the tour."""

import os
import re
import shlex
import tomllib
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner
from PIL import Image

from areakit.cli.main import COMMANDS, group
from areakit.flags import flag
from areakit.imaging.marks import TILT_REFUSED_DEG
from calibration.studies import silent
from calibration.studies.accuracy_rows import read_rows
from calibration.studies.accuracy_summary import figures, quantiles
from calibration.studies.demo_table import rows
from calibration.studies.tour import CUT, TOUR, Shop, Step, fits, settled, tour
from calibration.studies.tour_pictures import MOST_BYTES, PICTURES, RESULTS, WIDEST_PX
from calibration.studies.traced_rows import TracedRow
from calibration.studies.traced_scenes import FIRST_SEED

ROOT = Path(__file__).resolve().parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
SVGS = {
    "tour-surfaces.svg": "badge-surfaces.svg",
    "tour-lanes.svg": "badge-lanes.svg",
    "tour-dose.svg": "badge-dose.svg",
}


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


def test_the_parts_that_are_not_flat_are_what_is_said_of_them() -> None:
    block = re.search(r"```sh\n(areakit measure demo_images/turned-spindle.*?)\n```", README, flags=re.DOTALL)
    said = re.search(r"They give ([\d.]+ ± [\d.]+ cm²) and ([\d.]+ ± [\d.]+ cm²)", README)
    asked = re.search(r"without the answers the wire has ([\d.]+ ± [\d.]+ cm²)", README)
    assert block is not None
    assert said is not None
    assert asked is not None
    lines = block.group(1).splitlines()
    lines.append(lines[1].split(" --hole")[0])
    for line, figure in zip(lines, (*said.groups(), asked.group(1)), strict=True):
        words = [str(ROOT / word) if word.startswith("demo_images/") else word for word in shlex.split(line)[1:]]
        result = CliRunner().invoke(group, words)
        assert result.exit_code == 0, result.output
        assert figure in result.output
    truths = [
        tomllib.loads((ROOT / "demo_images" / f"{name}.toml").read_text(encoding="utf-8"))["parts"][0]
        for name in ("turned-spindle", "wire-hook")
    ]
    one, other = (f"{true['surface_mm2'] / 100:.2f} cm²" for true in truths)
    assert f"true surfaces are {one} and {other}" in README
    one, other = (f"{2 * true['area_mm2'] / 100:.1f} cm²" for true in truths)
    assert f"two faces of their outlines would be\n{one} and {other}" in README


def test_the_accuracy_table_is_what_the_tool_measures() -> None:
    kept = (ROOT / "calibration" / "studies" / "demo_results.md").read_text(encoding="utf-8")
    assert kept.split("\n\n")[-1].strip().splitlines() == rows()


def test_the_accuracy_figures_are_those_of_the_study() -> None:
    made = read_rows(ROOT / "calibration" / "studies" / "accuracy_rows.csv")
    study = [row for row in made if not row.card]
    said = " ".join((ROOT / "calibration" / "studies" / "how_good.md").read_text(encoding="utf-8").split())
    short = " ".join(README.split("## How good it is\n")[1].split("\n## ")[0].split())
    blue, pale = ([row for row in study if (row.field == "blue") is is_blue] for is_blue in (True, False))
    for words, members in {
        "7 to 50 cm², all thicknesses": [row for row in blue if 7.0 <= row.area_cm2 < 50.0],
        "under 7 cm², all thicknesses": [row for row in blue if row.area_cm2 < 7.0],
    }.items():
        f = figures(members)
        assert f"| {words} | {f.p95:.1f} % | {f.usual_expanded:.1f} % | {f.covered:.0f} % of {f.measured} |" in said
    f = figures(row for row in blue if 7.0 <= row.area_cm2 < 50.0)
    assert f"stated to {f.usual_expanded:.1f} % (median, k = 2), and 95 % of errors are within {f.p95:.1f} %" in short
    thin = figures(row for row in blue if row.area_cm2 >= 50.0 and row.thickness_mm <= 0.3)
    inside = round(thin.covered * thin.measured / 100.0)
    assert f"thick | {thin.p95:.2f} % | {thin.usual_expanded:.2f} % | {inside} of {thin.measured} |" in said
    harder, answered = figures(pale), figures(row.answered for row in pale)
    assert f"in {harder.covered:.0f} % of {harder.measured} photos" in said
    assert f"In {sum(row.asked > 0 for row in study)} photos areakit asked" in said
    assert f"from within {harder.p95:.1f} % to {answered.p95:.1f} %" in said
    good = figures(row for row in study if row.good)
    refused = sum(not row.measured for row in study)
    assert (
        f"Of all {len(study)} photos {refused} were refused, {good.refused} of them among the {good.scenes} good"
        in said
    )
    gross = [set(row.flags.split(";")) for row in study if row.measured and abs(row.e_n) > 3.0]
    assert len(gross) == 2
    assert all(codes & {"LOOKS_UNDECIDED", "OUTLINES_DIFFER"} for codes in gross)
    assert "Two errors were larger than three times what was stated, both with a question or a note" in said
    box, squares, paper = (quantiles(study, method)[1] for method in ("box", "squares", "paper_10mg"))
    assert f"within {box:.0f} % for a box and a guess, {squares:.0f} % for counted" in said
    assert f"{paper:.0f} % for a paper cut-out" in said
    assert f"{len(study)} simulated photos" in short
    assert f"within {box:.0f} % for a box and a guess" in short
    traced = read_rows(ROOT / "calibration" / "studies" / "traced_rows.csv", TracedRow)
    judged = [row for row in traced if row.seed >= FIRST_SEED]
    measured = [row for row in judged if row.measured]
    assert f", {len(judged)} of them, with" in said
    assert f", {len(judged)} path-traced ones" in short
    assert f"in {sum(row.covered for row in measured)} of the {len(measured)} that were measured" in said
    photos = (ROOT / "calibration" / "studies" / "real_photos.md").read_text(encoding="utf-8")
    outside = re.search(r"Outside: (\d+) of (\d+) truths, (\d+) of them in a photo or part with a flag", photos)
    assert outside is not None
    out, truths, flagged = map(int, outside.groups())
    assert out == flagged == 5
    assert f"known truth: in {truths - out} of {truths}, and the five others carry a flag" in said
    stated = sorted(map(float, re.findall(r"\| ± ([\d.]+) % \|", photos)))
    assert f"between {stated[0]:.0f} % (a block of markers) and {stated[-1]:.0f} % (one coin)" in short
    assert f"holds for {truths - out} of {truths} truths" in short


def test_what_is_caught_is_what_the_study_of_traps_found() -> None:
    traps = list(silent.read_rows(ROOT / "calibration" / "studies" / silent.ROWS).values())
    assert {row.outcome for row in traps} <= {"caught", "asked", "holds", "sum holds", "told"}
    kinds = Counter(row.kind for row in traps)
    assert set(kinds) == set(silent.kinds())
    assert set(kinds.values()) == {20}
    short = " ".join(README.split("## How good it is\n")[1].split("\n## ")[0].split())
    assert f"Of {len(traps)} photos drawn to mislead, 20 each of {len(kinds)} kinds" in short


def test_every_command_that_is_named_exists() -> None:
    named = set(re.findall(r"areakit ([a-z-]+)", README)) - {"finds", "looks", "stands"}
    assert named & set(COMMANDS)
    for name in named:
        assert name in COMMANDS or not re.search(rf"(?:`|^)areakit {name}\b", README, flags=re.MULTILINE), name


def test_the_limits_for_a_good_photo_are_those_of_the_code() -> None:
    advice = README.split("## How to take a good photo\n")[1].split("\n## ")[0]
    assert f"above {TILT_REFUSED_DEG:.0f}° is refused" in advice
    assert "below 12° is best" in flag("TILT_HIGH", tilt_deg=20.0).remedy
    assert "Below 12° of tilt is best" in advice
    assert "at least 3 mm apart" in flag("PARTS_TOUCH", count=2).remedy
    assert "3 mm apart or more" in advice


@pytest.fixture(scope="module")
def walked(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Shop, list[tuple[str, str | None, str]]]]:
    """The tour, walked once in a folder of its own: the shop, and command, shown and printed of each step."""
    shop = Shop(tmp_path_factory.mktemp("tour"))
    with pytest.MonkeyPatch.context() as patch, open(os.devnull) as listener:
        for name in [name for name in os.environ if name.startswith("AREAKIT_")]:
            patch.delenv(name)
        patch.setattr("areakit.web.server._run", lambda *servers: None)  # stopped as soon as it has started
        patch.setattr("areakit.web.server._listener", lambda host, port: listener)
        yield shop, [(step.commands[-1], step.shown, shop.run(step)) for step in tour()]


Walked = tuple[Shop, list[tuple[str, str | None, str]]]


def test_the_tour_goes_the_whole_way_in_its_order(walked: Walked) -> None:
    verbs = [command.split()[1] for step in tour() for command in step.commands if command.startswith("areakit")]
    first = list(dict.fromkeys(verbs))
    assert first == ["sheet", "measure", "surface", "shop", "plan", "rates", "quote", "check", "job", "bottle", "serve"]


def test_every_command_of_the_tour_prints_what_is_shown(walked: Walked) -> None:
    for command, shown, printed in walked[1]:
        assert shown is None or fits(shown, printed), f"{command}\nshown:\n{shown}\nprinted:\n{printed}"
        assert shown is not None or len(printed.splitlines()) < 2, f"{command} prints, and nothing is shown"
    assert sum(shown is not None for _, shown, _ in walked[1]) >= 8


def test_the_record_of_the_tour_is_whole_and_signed(walked: Walked) -> None:
    shop = walked[0]
    assert (shop.here / "traveller.pdf").read_bytes().startswith(b"%PDF")
    checked = CliRunner(env=shop.environment)
    journal = str(shop.here / "tour.sqlite")
    assert "The journal is whole" in checked.invoke(group, ["job", "check", "--journal", journal]).output
    assert "signed" in checked.invoke(group, ["job", "show", "J1", "--journal", journal]).output


def test_the_commands_of_the_short_tour_run(walked: Walked) -> None:
    section = README.split("\n## The whole job\n")[1].split("\n### ")[0]
    rows = [row.split(" | ")[1] for row in section.splitlines() if row.startswith("| ") and "`" in row]
    commands = [one for row in rows for one in re.findall(r"`(areakit [^`]+)`", row) if not one.endswith("--help")]
    assert len(commands) >= 8
    told = {command for step in tour() for command in step.commands}
    for command in commands:
        if command not in told and " job new" not in command:  # the tour ran it, or the job is in the record by now
            walked[0].run(Step(commands=(command,), shown=None))


def test_the_questions_below_the_tour_are_answered(walked: Walked) -> None:
    table = README.split("\n### More\n")[1].split("\n## ")[0]
    commands = [command for command in re.findall(r"`(areakit [^`]+)`", table) if not command.endswith("--help")]
    assert len(commands) == 3
    for command in commands:
        assert "±" in walked[0].run(Step(commands=(command,), shown=None))


def test_a_tour_that_shows_something_else_is_told() -> None:
    printed = "Part 1\n  area  4505 ± 50 mm²\nNote: a shadow on 2026-01-31\n"
    assert fits(f"Part 1\n{CUT}\nNote: a shadow on 2025-12-01", printed)
    assert fits(f"{CUT}\n  area  4505 ± 50 mm²\n{CUT}", printed)
    assert not fits(f"Part 1\n{CUT}\n  area  4506 ± 50 mm²\n{CUT}", printed)
    assert not fits("Part 1", printed)
    assert not fits(f"{CUT}\n  area  4505 ± 50 mm²", printed)
    assert settled("2026-01-31T10:00:00+00:00 0123456789abcdef") == ["<moment> <digest>"]
    with pytest.raises(AssertionError, match="nobody taught"):
        Shop.run(object.__new__(Shop), tour("```sh\nrm -r all\n```\n")[0])


def test_every_picture_is_there_small_and_made_by_the_command() -> None:
    story = TOUR.read_text(encoding="utf-8")
    named = set(re.findall(r"results/(tour-[\w.-]+)", README + story))
    assert named == set(PICTURES) == {path.name for path in RESULTS.glob("tour-*")}
    for text, folder in ((README, ROOT), (story, TOUR.parent)):
        for picture in set(re.findall(r"(?:\]\(|src=\")([\w/.-]+\.(?:jpg|png|svg))", text)):
            assert (folder / picture).is_file(), picture
    for name in named:
        path = RESULTS / name
        assert path.stat().st_size < MOST_BYTES, name
        if path.suffix != ".svg":
            with Image.open(path) as image:
                assert image.width <= WIDEST_PX, name


@pytest.mark.parametrize("name", SVGS)
def test_the_drawings_are_up_to_date(walked: Walked, name: str) -> None:
    """The same drawing; numbers may differ by what another processor rounds otherwise."""
    kept, drawn = ((path).read_text(encoding="utf-8") for path in (RESULTS / name, walked[0].here / SVGS[name]))
    assert NUMBER.sub("#", kept) == NUMBER.sub("#", drawn)
    pairs = zip(NUMBER.findall(kept), NUMBER.findall(drawn), strict=True)
    assert max(abs(float(old) - float(new)) for old, new in pairs) < 0.02


def test_ci_runs_the_command_that_runs_the_tests() -> None:
    tests = README.split("Run the tests")[1].split("```sh\n")[1].split("\n```")[0]
    assert tests in (ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()
