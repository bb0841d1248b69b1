"""The bench card: one screen, nothing cut, no digit that the uncertainty wipes out."""

import re
from dataclasses import replace

import pytest
from click.testing import CliRunner

from areakit.cli.main import group
from areakit.plating.process import BASE_GROUPS, all_processes
from areakit.reports.bench_words import rounded, setting
from areakit.reports.card import make_card
from areakit.reports.card_page import card_pdf
from areakit.reports.card_text import LINES, WIDTH, card_lines
from areakit.service.plan import plan
from areakit.service.plan_request import PlanRequest
from areakit.uncertainty import Measured, exact

GOLD = PlanRequest(
    process="gold-brush", layers={"gold": "0.5 um"}, efficiency={"gold": "72 % ± 6 %"}, area="40 ± 0.4 cm2",
    footprint="3 cm2", current_density={"gold": "10 A/dm2"}, base="gold", shop="none",
)  # fmt: skip
COUPON = {"volts": "8 V", "passes": "30", "area": "25 cm2", "gain": "9.4 mg", "time": "150 s", "name": "gold-8v"}


def requests() -> list[PlanRequest]:
    found = []
    for name, process in all_processes().items():
        metals = dict.fromkeys(process.metals)
        found.append(
            PlanRequest(
                process=name, layers=dict.fromkeys(metals, "1 um"), efficiency=dict.fromkeys(metals, "60 % ± 9 %"),
                current_density=dict.fromkeys(metals, "10 A/dm2"), area="123.45 ± 1.2 cm2", pieces=24, shop="none",
                footprint="3 cm2" if process.method == "brush" else None,
            )
        )  # fmt: skip
    return found


@pytest.mark.parametrize("request_", requests(), ids=lambda one: one.process)
def test_every_process_on_every_base_fits_one_screen_uncut(request_: PlanRequest) -> None:
    for base in (None, *BASE_GROUPS):
        found = plan(replace(request_, base=base))
        stops = sum(one.severity == "stop" for one in found.findings)
        lines = card_lines(make_card([found], name="picture.jpg", price="1234.50 EUR, 51.40 EUR each"))
        assert max(map(len, lines)) <= WIDTH == 100
        assert len(lines) <= LINES + 4 * stops
        assert LINES == 20
        assert "…" not in "".join(lines)


def test_the_card_says_what_the_plan_holds() -> None:
    found = plan(GOLD)
    card = make_card([found], name="badge.jpg")
    text = "\n".join(card_lines(card))
    (layer,) = found.layers
    assert layer.brush is not None
    assert f"{layer.brush.passes.value:.0f}"[:1] in text
    step = next(one for one in card.steps if one.runs)
    assert float(step.runs[0].mean.split()[0]) == pytest.approx(layer.brush.mean_current.value, rel=0.05)
    assert step.hazards[0] == "cyanide"
    assert {number for one in card.steps for number in one.numbers} == {one.number for one in found.steps}
    assert text.splitlines()[-1].startswith("! Safety data sheets")


def test_a_shop_without_a_meter_reads_volts_passes_and_time() -> None:
    found = plan(replace(GOLD, coupons={"gold": COUPON}))
    run = found.layers[0].by_volts
    assert run is not None
    by_amperes, by_volts = (make_card([found], name="a", volts_first=first) for first in (False, True))
    assert " A mean" in "".join(card_lines(by_amperes))
    text = "".join(card_lines(by_volts))
    assert f"8 V by coupon gold-8v · {setting(run.time)} · {run.passes_set} passes" in text
    assert " A mean" not in text
    assert by_volts.time != by_amperes.time
    no_current = plan(replace(GOLD, coupons={"gold": COUPON}, current_density={}, footprint=None))
    assert f"{no_current.layers[0].by_volts.passes_set} passes" in "".join(
        card_lines(make_card([no_current], name="a"))
    )  # type: ignore[union-attr]


@pytest.mark.parametrize(("pieces", "told"), [(1, False), (2, True)])
def test_time_and_passes_of_several_pieces_are_said_to_be_of_each(pieces: int, told: bool) -> None:
    for volts in (False, True):
        made = plan(replace(GOLD, pieces=pieces, coupons={"gold": COUPON} if volts else {}))
        lines = "\n".join(card_lines(make_card([made], name="a", volts_first=volts)))
        assert bool(re.search(r"\d (min|s|h) each · ", lines)) is told


def test_kinds_side_by_side_have_a_row_each_and_one_total() -> None:
    kinds = [plan(replace(GOLD, area=f"{area} ± 0.2 cm2", pieces=n)) for area, n in ((16.5, 1), (24.1, 4))]
    card = make_card(kinds, name="a.jpg")
    lines = card_lines(card)
    assert sum("± 0.20 cm²" in line for line in lines) == 2
    mass = sum(one.layers[0].mass_total.value for one in kinds) * 1e6
    (told,) = re.findall(r"gold (\d+\.?\d*) ±", "\n".join(line for line in lines if line.startswith("Total")))
    assert float(told) == pytest.approx(mass, rel=0.01)


@pytest.mark.parametrize(
    ("value", "uncertainty", "words"),
    [(0.755144, 0.15, "0.76"), (11000.0, 440.0, "11000"), (9.87, 0.3, "9.9"), (0.0, 0.0, "0"), (8.0, 0.0, "8"),
     (123.456, 0.01, "123.5"), (0.24449, 0.0, "0.244")],
)  # fmt: skip
def test_digits_follow_the_uncertainty(value: float, uncertainty: float, words: str) -> None:
    assert rounded(value, uncertainty) == words


def test_units_change_at_a_minute_a_gram_and_a_tenth_of_an_ampere() -> None:
    assert setting(exact(59.9, "s")) == "59.9 s"
    assert setting(exact(60.0, "s")) == "1 min"
    assert setting(exact(0.099, "A")) == "99 mA"
    assert setting(exact(0.1, "A")) == "0.1 A"
    assert setting(exact(0.999e-3, "kg")) == "999 mg"
    assert setting(exact(1e-3, "kg")) == "1 g"
    assert setting(Measured(value=0.076, unit="A", budget={"a": 0.008}), like=exact(0.25, "A")) == "0.076 A"
    assert setting(exact(0.2, "A"), digits=2) == "0.20 A"


@pytest.mark.parametrize("paper", ["a4", "a5", "letter"])
def test_the_card_is_one_page_of_paper(paper: str) -> None:
    page = card_pdf(make_card([plan(GOLD)], name="badge.jpg"), paper=paper)
    assert page.startswith(b"%PDF")
    assert len(re.findall(rb"/Type /Page\b", page)) == 1


def test_the_command_writes_card_and_details(tmp_path) -> None:  # type: ignore[no-untyped-def]
    typed = ["plan", "--area=40 ± 0.4 cm2", "--process=gold-brush", "--layer=gold=0.5 um", "--efficiency=gold=72 %",
             "--footprint=3 cm2", "--current-density=gold=10 A/dm2", "--base=gold"]  # fmt: skip
    path = tmp_path / "card.pdf"
    card = CliRunner().invoke(group, [*typed, "--card", str(path)])
    assert card.exit_code == 0, card.output
    assert path.read_bytes().startswith(b"%PDF")
    details = CliRunner().invoke(group, [*typed, "--details"])
    assert "Where the figures come from" in details.stdout or "Faraday's law" in details.stdout
    assert len(details.stdout.splitlines()) > 2 * len(card.stdout.splitlines())
