"""A plan takes the shop's own factor where it is surer than label and tables, says so, and everybody gets the same."""

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner
from starlette.testclient import TestClient

import areakit
from areakit.cli.main import group
from areakit.costing.rates import rates_text
from areakit.errors import FileError, InputError
from areakit.records.plan_json import plan_json
from areakit.service import own_factor
from areakit.service.bottle import NewBottle, add_bottle, write
from areakit.service.desk import Desk
from areakit.service.job import NewJob, attach_json, open_job
from areakit.service.job_entries import Weighing
from areakit.service.job_run import StepRequest, begin_step
from areakit.service.own_factor import add_coupon, bottle_factor
from areakit.service.plan import plan, plan_again
from areakit.service.plan_request import PlanRequest
from areakit.service.quote import QuoteRequest, quote
from areakit.service.record_requests import NewCoupon
from areakit.web.app import make_app
from areakit.web.settings import Address

GOLD = 196.96657 / 96485.33212 * 60e3  # mg for one A.min of gold(I) at 100 %
SOLUTIONS = '[solutions.my-gold]\nmetal = "gold"\nbath = "gold-cyanide"\n'
ASKED = PlanRequest(
    process="gold-brush", layers={"gold": "0.5 um"}, area="25 ± 0.25 cm2", solution={"gold": "my-gold"},
    solutions=SOLUTIONS, allowance={"": "1.2"}, base="nickel", shop="none",
)  # fmt: skip
SEEN = (0.60, 0.61, 0.59, 0.605, 0.595)


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    made = Desk(path=tmp_path / "j.sqlite", who="Ana", now=datetime(2026, 3, 14, 9, 0, tzinfo=UTC))
    bottle(made, "G7")
    return made


def bottle(desk: Desk, label: str, solution: str = "my-gold", *, recovered: bool = False) -> None:
    asked = NewBottle(label=label, solution=solution, metal="gold", bath="gold-cyanide", volume="0.5 L")
    add_bottle(desk, replace(asked, recovered=recovered))


def coupons(desk: Desk, label: str, efficiencies: tuple[float, ...], brush: str = "") -> None:
    for day, efficiency in enumerate(efficiencies):
        then = replace(desk, now=desk.now + timedelta(days=day))
        add_coupon(
            then, label, NewCoupon(charge="0.4 A.min", gain=f"{0.4 * efficiency * GOLD:.5f} ± 0.2 mg", brush=brush)
        )


def planned(desk: Desk, **more: object) -> dict:
    return plan_json(plan(replace(ASKED, journal=str(desk.path), **more)))


def efficiency(body: dict) -> float:
    return body["layers"][0]["efficiency"]["quantity"]["value"]


def codes(body: dict) -> set[str]:
    return {one["code"] for one in body["flags"]}


def test_the_plan_runs_on_the_own_factor_and_says_where_it_is_from(desk: Desk) -> None:
    """0.5 um times 1.2 on 25 cm2 of 19.32 g/cm3 is 28.98 mg, at 60 % of 122.5 mg/A.min 0.394 A.min."""
    coupons(desk, "G7", SEEN)
    body = planned(desk, even_chance=True)
    assert efficiency(body) == pytest.approx(0.60, abs=2e-4)
    layer = body["layers"][0]
    assert layer["charge_set"]["value"] == pytest.approx(0.6e-4 * 25 * 19320 / (0.6 * GOLD), rel=1e-3)
    origin = layer["efficiency"]["origin"]
    assert origin["kind"] == "measured"
    assert "own factor of my-gold (bottle G7)" in origin["text"]
    assert "5 runs, 2026-03-14 to 2026-03-18 (5 coupons)" in origin["text"]
    assert "OWN_FACTOR" in codes(body)
    assert layer["efficiency"]["quantity"]["budget"].keys() == {"gold next run"}


def test_the_quote_carries_it_on(desk: Desk) -> None:
    """28.98 mg of gold on one piece, priced at 75 EUR/g, whatever the charge; the quote says whose factor it is."""
    coupons(desk, "G7", SEEN)
    made = plan(replace(ASKED, journal=str(desk.path), even_chance=True))
    asked = QuoteRequest(
        plan=made, rates=rates_text(example=True), metal_prices={"gold": "75 EUR/g"}, price_date="2026-03-14"
    )
    found = quote(asked).quote
    assert found.job.layers[0].mass.value == pytest.approx(28.98e-6, rel=1e-3)
    assert [told.message for told in found.flags if told.code == "OWN_FACTOR"] == [
        told.message for told in made.flags if told.code == "OWN_FACTOR"
    ]
    assert "gold next run" in found.job.layers[0].mass.budget


@pytest.mark.parametrize(
    ("label", "used"),
    [
        ("72 % ± 20 %", True),  # wider than the runs
        ("60 % ± 1 %", False),  # surer, and the runs bear it out
        ("72 % ± 1 %", True),  # surer on paper, and the runs contradict it
        ("60 %", True),  # nothing says how sure it is
    ],
)
def test_the_surer_one_is_taken_unless_the_runs_contradict_it(desk: Desk, label: str, used: bool) -> None:
    coupons(desk, "G7", SEEN)
    body = planned(desk, solutions=f'{SOLUTIONS}efficiency = "{label}"\n')
    assert ("OWN_FACTOR" in codes(body)) is used
    assert ("OWN_FACTOR_WIDER" in codes(body)) is not used
    assert efficiency(body) == pytest.approx(0.60 if used else float(label[:2]) / 100, abs=2e-4)


def test_what_is_typed_goes_before_it(desk: Desk) -> None:
    coupons(desk, "G7", SEEN)
    for typed in ({"efficiency": {"gold": "72 % ± 20 %"}}, {"efficiency": {"": "72 % ± 20 %"}}):
        body = planned(desk, **typed)
        assert efficiency(body) == pytest.approx(0.72)
        assert not {"OWN_FACTOR", "OWN_FACTOR_WIDER"} & codes(body)


def test_no_journal_and_no_runs_change_nothing(desk: Desk, tmp_path: Path) -> None:
    with pytest.raises(InputError, match="fficiency of gold"):
        planned(desk)
    coupons(desk, "G7", SEEN[:1])
    typed = {"efficiency": {"gold": "72 % ± 6 %"}}
    assert planned(desk, **typed) == plan_json(plan(replace(ASKED, journal="none", **typed)))
    with pytest.raises(InputError, match="fficiency of gold"):
        plan(replace(ASKED, journal="none"))


def test_a_named_journal_that_is_not_there_is_told_and_not_made(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    missing, stored = tmp_path / "typo.sqlite", tmp_path / "solutions.toml"
    stored.write_text(f'{SOLUTIONS}efficiency = "70 % ± 5 %"\n')
    typed = replace(ASKED, solutions=stored.read_text())
    with pytest.raises(FileError, match=r"There is no journal .*typo") as told:
        plan(replace(typed, journal=str(missing)))
    assert told.value.fields == {"journal": "none"}
    monkeypatch.setenv("AREAKIT_JOURNAL", str(missing))  # as a shop that begins has it
    plan(replace(typed, journal=str(missing)))
    words = ["plan", "--area", "25 cm2", "--process", "gold-brush", "--layer", "gold=0.5 um", "--base", "nickel"]
    named = ["--solution", "gold=my-gold", "--solutions", str(stored)]
    asked = [named, [*named, "--journal", "none"], ["--efficiency", "gold=70 %"]]
    done = [CliRunner().invoke(group, [*words, *more]) for more in asked]
    assert [one.exit_code for one in done] == [0, 0, 0]
    assert ["There is no journal" in one.stderr for one in done] == [True, False, False]
    assert list(tmp_path.iterdir()) == [stored]
    bottle(Desk(path=missing, who="Ana", now=datetime(2026, 3, 14, 9, 0, tzinfo=UTC)), "G7")
    assert CliRunner().invoke(group, [*words, *named]).stderr == ""


def test_a_damaged_journal_is_told_of_and_stops_no_plan(desk: Desk, tmp_path: Path) -> None:
    broken = tmp_path / "broken.sqlite"
    broken.write_bytes(b"no journal at all" * 100)
    asked = replace(ASKED, journal=str(broken), solutions=f'{SOLUTIONS}efficiency = "70 % ± 5 %"\n')
    body = plan_json(plan(asked))
    assert "RECORD_NOT_ASKED" in codes(body)
    assert efficiency(body) == pytest.approx(0.70)


def test_a_bottle_stands_alone_from_three_runs_on(desk: Desk) -> None:
    bottle(desk, "G8")
    bottle(desk, "G9", "other-gold")
    bottle(desk, "G8-R1", recovered=True)
    coupons(desk, "G7", (0.60, 0.61, 0.60))
    coupons(desk, "G8", (0.50, 0.51))
    coupons(desk, "G9", (0.80, 0.81, 0.82))
    coupons(desk, "G8-R1", (0.30, 0.31, 0.32))
    alone, among = bottle_factor(desk, "G7"), bottle_factor(desk, "G8")
    assert (alone.basis, among.basis) == ("bottle G7", "my-gold (bottles G8, G7)")
    assert alone.factor is not None
    assert among.factor is not None
    assert (len(alone.factor.runs), len(among.factor.runs)) == (3, 5)
    assert efficiency(planned(desk, bottle={"gold": "G7"})) == pytest.approx(0.6033, abs=1e-3)
    with pytest.raises(InputError, match="G9 holds other-gold"):
        planned(desk, bottle={"gold": "G9"})
    with pytest.raises(InputError, match="no bottle G99"):
        planned(desk, bottle={"gold": "G99"})
    with pytest.raises(InputError, match="no journal is asked"):
        plan(replace(ASKED, journal="none", bottle={"gold": "G7"}))
    with pytest.raises(InputError, match="not nickel"):
        planned(desk, bottle={"nickel": "G7"})


def test_the_newest_sixty_runs_of_a_solution_count(desk: Desk) -> None:
    """A first run far below the others is told of as one that they do not bear out, until sixty came after it."""

    def runs_and_outliers() -> tuple[int, int]:
        factor = bottle_factor(desk, "G7").factor
        assert factor is not None
        return len(factor.runs), len(factor.outliers)

    coupons(desk, "G7", (0.30, *(0.60 + 0.001 * (n % 3) for n in range(59))))
    assert runs_and_outliers() == (60, 1)
    coupons(replace(desk, now=desk.now + timedelta(days=60)), "G7", (0.60,))
    assert runs_and_outliers() == (60, 0)


def test_the_newest_twenty_bottles_of_a_solution_are_looked_at_and_the_one_that_is_named(desk: Desk) -> None:
    for number in range(20):
        bottle(desk, f"H{number}")
    found = bottle_factor(desk, "G7")
    assert found.bottles == ("G7", *(f"H{number}" for number in range(19, 0, -1)))
    assert len(bottle_factor(desk, "H19").bottles) == 20
    assert "G7" not in bottle_factor(desk, "H19").bottles


def test_only_the_jobs_of_the_newest_runs_are_read(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    numbers = []
    for day in range(4):
        then = replace(desk, now=desk.now + timedelta(days=day))
        numbers.append(open_job(then, NewJob(part="tag")).number)
        Weighing(when="before", mass="41.2 ± 0.0002 g").write(then, numbers[-1])
        begin_step(then, numbers[-1], StepRequest(title="gold", metal="gold", bottle="G7", charge="0.4 ± 0.008 A.min"))
        if day != 2:  # that one was never weighed again, and so is no run of the factor
            Weighing(when="after", mass=f"{41.2 + 0.4 * 0.6e-3 * GOLD:.7f} ± 0.0002 g").write(then, numbers[-1])
    read, real = [], own_factor.fold_job
    monkeypatch.setattr(own_factor, "fold_job", lambda key, history: read.append(key) or real(key, history))
    monkeypatch.setattr(own_factor, "MOST_RUNS", 2)
    assert [one.run for one in bottle_factor(desk, "G7").seen.observations] == [
        f"job {numbers[day]}, run 3" for day in (1, 3)
    ]
    assert read == [numbers[3], numbers[2], numbers[1]]


def test_a_bottle_whose_label_was_corrected_is_found_by_what_it_holds(desk: Desk) -> None:
    bottle(desk, "G8", "mistyped")
    coupons(desk, "G7", (0.60, 0.61))
    coupons(desk, "G8", (0.50, 0.51))
    assert bottle_factor(desk, "G7").bottles == ("G7",)
    write(desk, "G8", "corrected", doc={"entry": 1, "fields": {"solution": "my-gold"}, "reason": "slip"})
    assert bottle_factor(desk, "G7").bottles == ("G7", "G8")
    write(desk, "G8", "corrected", doc={"entry": 1, "fields": {"solution": "another"}, "reason": "slip"})
    assert bottle_factor(desk, "G7").bottles == ("G7",)


def test_a_bottle_may_carry_the_name_or_the_title_of_its_solution(desk: Desk) -> None:
    """A label often has the title; a name that is only a part of another is another solution."""
    bottle(desk, "G8", "gold for tags")
    bottle(desk, "G9", "gold")
    coupons(desk, "G8", (0.50, 0.51, 0.50))
    coupons(desk, "G9", (0.80, 0.81, 0.82))
    titled = f'{SOLUTIONS}title = "gold for tags"\n'
    body = planned(desk, solutions=titled)
    assert "3 runs" in body["layers"][0]["efficiency"]["origin"]["text"]
    again = plan_again(body["asked"], measured=None, parts=(), pieces=3, journal=desk.path)
    layer = plan_json(again)["layers"][0]
    assert (again.order.bench.pieces, layer["efficiency"]) == (3, body["layers"][0]["efficiency"])


def test_a_brush_stands_alone_from_three_runs_on(desk: Desk) -> None:
    coupons(desk, "G7", (0.60, 0.61, 0.60), brush="small")
    coupons(desk, "G7", (0.50, 0.51), brush="wide")
    small, wide = (bottle_factor(desk, "G7", brush=name) for name in ("small", "wide"))
    assert (small.basis, wide.basis) == ("bottle G7 with brush small", "bottle G7")
    assert small.factor is not None
    assert wide.factor is not None
    assert (len(small.factor.runs), len(wide.factor.runs)) == (3, 5)


def test_a_step_is_led_by_the_brush_that_was_planned(desk: Desk) -> None:
    """The profile's brush goes from the plan to the step, and from there to the observation."""
    body = plan_json(
        plan(
            PlanRequest(
                process="nickel-gold-brush", area="25 cm2", base="brass", shop="example", brush="wide", journal="none"
            )
        )
    )
    assert body["brush"] == "wide"
    number = open_job(desk, NewJob(part="tag")).number
    attach_json(desk, number, "planned", json.dumps(body))
    step = next(one["number"] for one in body["steps"] if one["metal"] == "gold")
    planned_brush = begin_step(desk, number, StepRequest(step=step)).run.step.doc["brush"]
    said = begin_step(desk, number, StepRequest(step=step, brush="small")).run.step.doc["brush"]
    cleaning = begin_step(desk, number, StepRequest(step=1)).run.step.doc["brush"]
    assert (planned_brush, said, cleaning) == ("wide", "small", "")


def test_more_than_faraday_allows_is_shown_and_not_planned_with(desk: Desk) -> None:
    coupons(desk, "G7", (1.20, 1.21, 1.19, 1.20))
    body = planned(desk, solutions=f'{SOLUTIONS}efficiency = "70 % ± 20 %"\n')
    assert efficiency(body) == pytest.approx(0.70)
    shown = CliRunner().invoke(group, ["bottle", "factor", "G7", "--journal", str(desk.path)])
    assert "more than Faraday's law allows" in " ".join(shown.output.split())


def test_everybody_gets_the_same(desk: Desk, tmp_path: Path) -> None:
    coupons(desk, "G7", (*SEEN, 0.3))
    api = web(lambda _: desk)
    fields = {
        "process": "gold-brush", "area": "25 ± 0.25 cm2", "layers": {"gold": "0.5 um"}, "shop": "none",
        "solution": {"gold": "my-gold"}, "solutions": SOLUTIONS, "allowance": {"": "1.2"}, "base": "nickel",
        "bottle": {"gold": "G7"},
    }  # fmt: skip
    python = json.loads(json.dumps(planned(desk, bottle={"gold": "G7"})))
    assert api.post("/api/plan", json=fields).json() == python
    (tmp_path / "solutions.toml").write_text(SOLUTIONS)
    files = ("--solutions", str(tmp_path / "solutions.toml"), "--journal", str(desk.path))
    said = CliRunner().invoke(
        group,
        ["plan", "--json", "--process=gold-brush", "--area=25 ± 0.25 cm2", "--layer=gold=0.5 um", "--shop=none",
         "--solution=gold=my-gold", "--allowance=1.2", "--base=nickel", "--bottle=gold=G7", *files],
    )  # fmt: skip
    assert json.loads(said.stdout) == python
    from_python = areakit.plan(
        "25 ± 0.25 cm2", process="gold-brush", layers={"gold": "0.5 um"}, solution={"gold": "my-gold"}, shop="none",
        solutions=tmp_path / "solutions.toml", allowance="1.2", base="nickel", bottle={"gold": "G7"}, journal=desk.path,
    )  # fmt: skip
    assert from_python.to_json() == python
    factor = json.loads(json.dumps(areakit.own_factor("G7", journal=desk.path).to_json()))
    command = CliRunner().invoke(group, ["bottle", "factor", "G7", "--json", "--journal", str(desk.path)])
    assert json.loads(command.stdout) == factor
    assert api.get("/api/bottles/G7/factor").json() == factor
    (outlier,) = factor["factor"]["outliers"]
    assert outlier["ratio"] == pytest.approx(0.5, abs=0.01)
    assert api.get("/api/bottles/G7/factor", params={"form": "svg"}).text.startswith("<svg")
    kept = api.post("/api/bottles/G7/coupon", json={"charge": "0.4 A.min", "gain": "29 mg"})
    assert kept.status_code == 201
    assert len(api.get("/api/bottles/G7/factor").json()["observations"]) == 7


def web(desk: Callable[[str | None], Desk]) -> TestClient:
    app = make_app(address=Address(port=8137), desk=desk)
    return TestClient(app, base_url="http://127.0.0.1:8137", client=("127.0.0.1", 50_000))
