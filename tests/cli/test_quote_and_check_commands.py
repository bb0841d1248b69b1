"""areakit rates, quote and check, as typed, from a photo's JSON to the printed page."""

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from areakit.cli.main import group
from areakit.errors import AreakitError
from areakit.records.check_json import verdict_json
from areakit.records.quote_json import quote_json
from areakit.service.check import CheckRequest, check
from areakit.service.quote import QuoteRequest, quote

PHOTO = Path(__file__).resolve().parents[2] / "demo_images" / "pierced-badge.jpg"
# A scenario of our own: twenty brass badges, 0.5 um of gold at least, all over. Quote A is right; B gives the number of
# square inches as cm2, and works the metal from it; C works with the rectangle round the badge.
QUOTES = Path(__file__).parent / "badge_quotes.csv"
ASKED = ["--faces", "all", "--metal", "gold", "--thickness", "0.50 um", "--thickness-is", "minimum", "--allowance",
         "1.20 ± 0.05", "--density", "19.3 ± 0.6 g/cm3", "--price", "75.30 EUR/g", "--pieces", "20", "--per", "lot",
         "--required", "0.5 um", "--uncertainty", "2%"]  # fmt: skip


def run(*arguments: str) -> str:
    result = CliRunner().invoke(group, list(arguments), catch_exceptions=True)
    if isinstance(result.exception, AreakitError):
        raise result.exception
    assert result.exit_code == 0, result.output
    return result.output


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the measured badge, its plan and the example rates."""
    folder = tmp_path_factory.mktemp("bench")
    part = run(
        "measure", str(PHOTO), "--thickness", "1.2 mm", "--faces", "all", "--check-lengths", "150 x 90 mm", "--json"
    )
    (folder / "part.json").write_text(part, encoding="utf-8")
    plan = run(
        "plan", "--from", str(folder / "part.json"), "--process", "nickel-gold-brush", "--layer", "gold=0.5 um",
        "--layer", "nickel=3 um", "--efficiency", "gold=72% ± 6%", "--footprint", "4 cm2", "--current-density",
        "gold=10 A/dm2", "--current-density", "nickel=60 A/dm2", "--pieces", "20", "--base", "brass",
        "--allowance", "1.2 ± 0.1", "--json",
    )  # fmt: skip
    (folder / "plan.json").write_text(plan, encoding="utf-8")
    run("rates", "--example", "--output", str(folder / "rates.toml"))
    return folder


def quoted(bench: Path, *more: str) -> str:
    return run(
        "quote", "--plan", str(bench / "plan.json"), "--part", str(bench / "part.json"), "--rates",
        str(bench / "rates.toml"), "--metal-price", "gold=75.30 EUR/g ± 2%", "--price-date", "2026-01-31",
        "--price-basis", "selling price", *more,
    )  # fmt: skip


def test_a_job_is_priced_from_a_photo(bench: Path) -> None:
    text = quoted(bench)
    for words in (
        "all over (both faces and the edges)", "0.5 µm minimum thickness", "± 2% of 2026-01-31, selling price",
        "holds until 2026-02-14", "Metal in the price", "no tax or legal advice",
    ):  # fmt: skip
        assert words in " ".join(text.split()), words
    body = json.loads(quoted(bench, "--json"))
    # the drawn truth: 2 x 1997.6 + 431.0 x 1.2 mm2 = 45.12 cm2, x 0.6 um x 19.32 x 20 pieces: 1.04 g at an even
    # chance; for about 97 % confidence what the plan says over it
    plan = json.loads((bench / "plan.json").read_text(encoding="utf-8"))["layers"][1]
    raised = plan["charge_set"]["value"] / plan["charge_even_chance"]["value"]
    assert 1.1 < raised < 1.25
    truth_mg = 45.12 * 0.6 * 1.932 * 20 * raised
    assert body["layers"][1]["mass"]["value"] == pytest.approx(truth_mg, rel=0.02)
    metal = next(line for line in body["lines"] if line["key"] == "metal-gold")
    assert float(metal["amount"]) == pytest.approx(truth_mg / 1000 * 75.30, rel=0.02)
    assert sum(round(float(line["amount"]) * 100) for line in body["lines"]) == round(float(body["price"]) * 100)


SHOP_ONLY = ("EUR/h", "Overhead", "Margin", "Scrap", "hydrogen cyanide", "Set-up")
"""What a customer does not read: rates, shares on them, and the hazards of the workshop."""


def test_the_shop_s_own_stays_in_the_details(bench: Path) -> None:
    short, full = quoted(bench), quoted(bench, "--details")
    for words in SHOP_ONLY:
        assert words not in short, words
        assert words in " ".join(full.split()), words
    assert "--details" in short


def test_python_and_the_command_give_the_same_quote(bench: Path) -> None:
    request = QuoteRequest(
        plan=(bench / "plan.json").read_text(encoding="utf-8"),
        rates=(bench / "rates.toml").read_text(encoding="utf-8"),
        part=(bench / "part.json").read_text(encoding="utf-8"),
        metal_prices={"gold": "75.30 EUR/g ± 2%"},
        price_date="2026-01-31",
        price_basis="selling price",
        quoted_on=date.today(),
    )
    result = quote(request)
    assert quote_json(result.quote, result.part) == json.loads(quoted(bench, "--json"))


def verdicts(bench: Path, *more: str) -> list[dict[str, Any]]:
    lines = run("check", "--part", str(bench / "part.json"), "--claims", str(QUOTES), *ASKED, *more, "--json")
    return [json.loads(line) for line in lines.splitlines()]


def test_three_quotes_are_told_apart(bench: Path) -> None:
    right, unit, rectangle = verdicts(bench)
    assert right["agrees"]
    assert right["disagreeing"] == []
    assert not unit["agrees"]
    assert unit["explanations"][0]["slips"] == ["cm2-in2"]
    assert unit["floor"]["misses_the_requirement"]
    assert rectangle["disagreeing"] == ["area"]
    assert rectangle["explanations"][0]["slips"] == ["rectangle"]
    assert not rectangle["floor"]["misses_the_requirement"]


def test_the_text_names_the_slip_and_never_says_more_than_would_explain(bench: Path) -> None:
    text = run("check", "--part", str(bench / "part.json"), "--claims", str(QUOTES), *ASKED)
    plain = " ".join(text.split())
    for words in ("Quote A: Everything agrees", "Quote B: Misses the requirement",
                  "cm² for in², 6.452 times too small: would explain",
                  "the bounding rectangle was used: would explain", "not a proof"):  # fmt: skip
        assert words in plain, words


def test_python_and_the_command_give_the_same_verdicts(bench: Path) -> None:
    names = {
        name.removeprefix("--").replace("-", "_"): text for name, text in zip(ASKED[::2], ASKED[1::2], strict=True)
    }
    part = (bench / "part.json").read_text(encoding="utf-8")
    found = check(CheckRequest(claims=names, file=QUOTES.read_text(encoding="utf-8"), part=part))
    assert json.loads(json.dumps([verdict_json(one) for one in found])) == verdicts(bench)


def test_claims_come_as_json_or_as_a_table_with_any_separator(tmp_path: Path) -> None:
    rows = [{"name": "one", "metal": "gold", "area": "10.0 cm2", "thickness": "0.50 um", "mass": "9.7 mg"}]
    head, cells = list(rows[0]), list(rows[0].values())
    forms = {
        "list.json": json.dumps(rows),
        "object.json": json.dumps(rows[0]),
        "lines.json": json.dumps(rows[0]) + "\n" + json.dumps(rows[0]),
        "comma.csv": ",".join(head) + "\n" + ",".join(cells),
        "semicolon.csv": ";".join(head) + "\n" + ";".join(cells).replace("10.0", "10,0"),
    }
    for name, text in forms.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
        body = json.loads(run("check", "--claims", str(tmp_path / name), "--json").splitlines()[0])
        assert body["agrees"], name


@pytest.mark.parametrize(
    "arguments",
    [["check"], ["check", "--area", "3 cm2"], ["check", "--area", "much", "--mass", "3 mg"],
     ["quote", "--plan", "missing.json", "--rates", "missing.toml"], ["rates", "--currency", "euro"]],
)  # fmt: skip
def test_wrong_use_gets_a_sentence_and_a_remedy(arguments: list[str], monkeypatch: Any, tmp_path: Path) -> None:
    monkeypatch.chdir(tmp_path)
    with pytest.raises(AreakitError) as caught:
        run(*arguments)
    assert caught.value.remedy


def test_rates_are_not_written_over(tmp_path: Path) -> None:
    target = tmp_path / "rates.toml"
    run("rates", "--currency", "EUR", "--output", str(target))
    with pytest.raises(AreakitError, match="already"):
        run("rates", "--output", str(target))


@pytest.mark.parametrize(
    "body", ["{}", '{"schema": "areakit.plan/2"}', "[]", "no json", '{"schema": "areakit.plan/9"}']
)
def test_what_is_no_plan_is_refused(body: str) -> None:
    with pytest.raises(AreakitError):
        quote(QuoteRequest(plan=body, rates=""))


def test_a_quote_says_which_faces_or_that_it_does_not(bench: Path) -> None:
    base = ["quote", "--plan", str(bench / "plan.json"), "--rates", str(bench / "rates.toml"), "--metal-price",
            "gold=75.30 EUR/g", "--price-date", "2026-01-31"]  # fmt: skip
    assert "does not say which faces" in run(*base)
    assert "both faces" in run(*base, "--faces", "both")
    with pytest.raises(AreakitError, match="measured for all over"):
        run(*base, "--faces", "both", "--part", str(bench / "part.json"))


def test_a_plan_in_python_and_its_json_give_the_same_price(bench: Path) -> None:
    from areakit.records.plan_json import plan_json
    from areakit.service.plan import PlanRequest, plan

    made = plan(
        PlanRequest(process="nickel-tank", layers={"nickel": "25 um"}, area="35.1 cm2", efficiency={"": "95 %"})
    )
    rates = (bench / "rates.toml").read_text(encoding="utf-8")
    from_object = quote(QuoteRequest(plan=made, rates=rates, faces="all"))
    from_text = quote(QuoteRequest(plan=json.dumps(plan_json(made)), rates=rates, faces="all"))
    assert from_object == from_text
    assert from_object.quote.job.faces == "all over (both faces and the edges)"
