"""A quote is worked by hand, line by line; amounts of the order are invented."""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from areakit.costing.job import MetalLoss, PlannedJob, QuotedLayer, at_pieces
from areakit.costing.prices import MetalPrice
from areakit.costing.quote import Quote, make_quote
from areakit.costing.rates import Rates, metal_price
from areakit.errors import InputError
from areakit.uncertainty import Measured, exact

DAY = date(2026, 3, 10)


def gold(price: str = "80.00 EUR/g ± 0 %", dated: str = "2026-03-09") -> MetalPrice:
    return metal_price("gold", price, dated=dated, basis="", currency="EUR")


def rates(**changes: Any) -> Rates:
    start: dict[str, Any] = {
        "currency": "EUR", "rounding": Decimal("0.01"), "per_hour": Decimal(60), "set_up": Decimal("0.5"),
        "preparation": Decimal("0.1"), "masking": Decimal("0.05"), "handling": Decimal("0.1"),
        "consumables_per_job": Decimal(4), "consumables_per_piece": Decimal(1), "tests_per_job": Decimal(5),
        "tests_per_piece": Decimal("0.5"), "refiner_return": Decimal("0.9"), "scrap": Decimal("0.02"),
        "overhead": Decimal("0.4"), "margin": Decimal("0.1"), "margin_on_metal": Decimal("0.05"),
        "minimum_charge": Decimal(0), "valid_days": 14, "metals": {"gold": gold()},
        "solutions": {"gold": Decimal(50)},
    }  # fmt: skip
    return Rates(**{**start, **changes})


def job(*, time: float | None = 540.0, spread: float = 0.0, pieces: int = 10) -> PlannedJob:
    """Ten pieces, 500 mg of gold; sleeve 40 mg of which 30 come back, drag-out 10 mg, all lost."""
    sleeve = MetalLoss(place="sleeve", held=exact(40e-6, "kg"), recovered=exact(30e-6, "kg"))
    layer = QuotedLayer(
        metal="gold", bath="gold(I)", thickness=0.5e-6, thickness_is="minimum", mean=0.6e-6,
        mass=Measured(value=500e-6, unit="kg", budget={"area": 500e-6 * spread / 2}), time=time, pieces_per_load=None,
        losses=(sleeve, MetalLoss(place="drag-out", held=exact(10e-6, "kg"), recovered=exact(0.0, "kg"))),
        solution_volume=0.1e-3,
    )  # fmt: skip
    area = Measured(value=43e-4, unit="m2", budget={})
    return PlannedJob(
        title="gold",
        area=area,
        area_words="typed",
        pieces=pieces,
        layers=(layer,),
        cautions=("care",),
        faces="both faces",
    )


def amounts(quote: Quote) -> dict[str, str]:
    return {line.key: str(line.amount) for line in quote.lines}


def test_every_line_by_hand() -> None:
    """Plating: 10 x 9 min = 1.5 h, more than 10 x 6 min of handling. Loss: 50 mg held, 27 mg credited, 23 mg lost.

    Before the shares: labour 30 + 60 + 30 + 90 = 210; metal 40 + 1.84; other 5 + 14 + 10. Scrap: 2 % of 240.84.
    Overhead: 40 % of 210. Margin: 10 % of 210 + 29 + 4.82 + 84, and 5 % of 41.84.
    """
    quote = make_quote(job(), rates(), quoted_on=DAY)
    assert amounts(quote) == {
        "set-up": "30.00", "preparation": "60.00", "masking": "30.00", "plating-gold": "90.00",
        "metal-gold": "40.00", "loss-gold": "1.84", "solution-gold": "5.00", "consumables": "14.00", "tests": "10.00",
        "scrap": "5.02", "overhead": "84.00", "margin": "34.89",
    }  # fmt: skip
    assert quote.price == sum((line.amount for line in quote.lines), Decimal(0)) == Decimal("404.75")
    assert quote.each == Decimal("40.48")


@pytest.mark.parametrize(("seconds", "hours"), [(540.0, 1.5), (300.0, 1.0), (None, 1.0)])
def test_plating_labour_is_the_larger_of_charge_time_and_handling(seconds: float | None, hours: float) -> None:
    quote = make_quote(job(time=seconds), rates(), quoted_on=DAY)
    assert float(dict(amounts(quote))["plating-gold"]) == pytest.approx(60 * hours)
    assert ("NO_CHARGE_TIME" in {told.code for told in quote.flags}) is (seconds is None)


def test_unattended_minutes_of_a_tank_are_no_labour() -> None:
    """Ten pieces on a rack of 4 are 3 loads of half an hour; the labour is 10 x 6 min of handling at 60 an hour."""
    ten = job(time=1800.0)
    tank = replace(ten, layers=(replace(ten.layers[0], pieces_per_load=4),))
    line = next(one for one in make_quote(tank, rates(), quoted_on=DAY).lines if one.key == "plating-gold")
    assert str(line.amount) == "60.00"
    assert "3 loads of 30 min" in line.basis
    assert "unattended" in line.basis
    one_load = replace(ten, layers=(replace(ten.layers[0], pieces_per_load=10),))
    line = next(one for one in make_quote(one_load, rates(), quoted_on=DAY).lines if one.key == "plating-gold")
    assert "; 1 load of 30 min" in line.basis


def test_the_doubt_of_the_sleeve_reaches_the_price() -> None:
    """40 mg ± 60 % in the sleeve, none recovered, at an exact 80 EUR/g: 3.20 ± 1.92 EUR."""
    sleeve = Measured(value=40e-6, unit="kg", budget={"sleeve hold-up": 40e-6 * 0.3})
    one = job()
    losses = (MetalLoss(place="sleeve", held=sleeve, recovered=exact(0.0, "kg")),)
    quote = make_quote(replace(one, layers=(replace(one.layers[0], losses=losses),)), rates(), quoted_on=DAY)
    line = next(line for line in quote.lines if line.key == "loss-gold")
    assert float(line.amount) == pytest.approx(3.2)
    assert line.uncertainty == pytest.approx(1.92)
    assert quote.metal.expanded_uncertainty == pytest.approx(1.92)
    # with 5 % margin on it, and 2 % scrap that bears 10 % margin
    assert quote.uncertainty == pytest.approx(1.92 * (1.05 + 0.02 * 1.1))


def test_the_minimum_charge_fills_up() -> None:
    quote = make_quote(job(), rates(minimum_charge=Decimal(500)), quoted_on=DAY)
    assert quote.price == Decimal("500.00")
    assert amounts(quote)["minimum"] == "95.25"


def test_the_metal_line_carries_area_and_price_and_the_price_has_no_more_digits_than_it() -> None:
    """10 % of 40.00 EUR on the area and 2 % on the price of the metal: root of 16 + 0.64, and 0.04 on the loss."""
    quote = make_quote(job(spread=0.10), rates(metals={"gold": gold("80.00 EUR/g ± 2 %")}), quoted_on=DAY)
    line = next(one for one in quote.lines if one.key == "metal-gold")
    assert line.uncertainty == pytest.approx((4.0**2 + 0.8**2) ** 0.5)
    assert quote.metal.expanded_uncertainty == pytest.approx((4.0**2 + (0.8 + 0.0368) ** 2) ** 0.5)
    assert str(line.amount) == "40.0"
    assert quote.price == quote.price.quantize(Decimal("0.1"))
    assert -quote.price.as_tuple().exponent == 1  # type: ignore[operator]
    # ± 5 EUR on ten pieces are ± 0.5 EUR on one: a tenth of the step
    assert quote.each == quote.each.quantize(Decimal("0.01"))
    assert -quote.each.as_tuple().exponent == 2  # type: ignore[operator]
    assert sum((one.amount for one in quote.lines), Decimal(0)) == quote.price


def test_quantity_breaks_spread_the_set_up_and_the_sleeve_and_take_the_labour_share() -> None:
    quote = make_quote(job(), rates(breaks={10: Decimal(1), 100: Decimal("0.5")}), quoted_on=DAY)
    each = {one.pieces: one.each for one in quote.breaks}
    assert list(each) == [1, 10, 100]
    assert each[1] > each[10] > each[100]
    assert each[10] == quote.each
    hundred = make_quote(at_pieces(job(), 100), rates(breaks={100: Decimal("0.5")}), quoted_on=DAY)
    lines = amounts(hundred)
    assert lines["preparation"] == "300.00"  # 100 x 6 min x 50 % at 60 an hour
    assert lines["metal-gold"] == "400.00"
    assert lines["solution-gold"] == "50.00"  # 1 L where ten pieces took 0.1 L
    # sleeve 40 mg once, 27 credited; drag-out 100 mg: 113 mg at 80 EUR/g
    assert lines["loss-gold"] == "9.04"
    assert hundred.price == next(one.price for one in quote.breaks if one.pieces == 100)


def test_a_precious_metal_without_a_price_is_refused_and_a_base_metal_flagged() -> None:
    with pytest.raises(InputError, match="no price for gold"):
        make_quote(job(), rates(metals={}), quoted_on=DAY)
    nickel = job()
    nickel = replace(nickel, layers=(replace(nickel.layers[0], metal="nickel"),))
    quote = make_quote(nickel, rates(metals={}), quoted_on=DAY)
    assert {told.code for told in quote.flags} == {"METAL_NOT_PRICED", "SOLUTION_NOT_PRICED"}
    assert quote.metal.value == 0.0


@pytest.mark.parametrize(
    ("dated", "code", "until"),
    [("2026-03-09", None, "2026-03-23"), ("2026-01-09", "PRICE_STALE", "2026-01-23"),
     ("2026-03-11", "PRICE_IN_FUTURE", "2026-03-25")],
)  # fmt: skip
def test_a_quote_holds_from_the_day_of_the_metal_price(dated: str, code: str | None, until: str) -> None:
    quote = make_quote(job(), rates(metals={"gold": gold(dated=dated)}), quoted_on=DAY)
    assert quote.valid_until.isoformat() == until
    assert {told.code for told in quote.flags} == ({code} if code else set())


def test_rounding_is_not_credited_as_metal() -> None:
    """All run-off comes back, nothing of the sleeve: a difference of 1e-20 kg between sums is no credited metal."""
    one = job()
    for milligrams in range(1, 60):
        run_off = 1.1e-6 * milligrams
        losses = (
            MetalLoss(place="sleeve", held=exact(87.7e-6, "kg"), recovered=exact(0.0, "kg")),
            MetalLoss(place="run-off", held=exact(run_off, "kg"), recovered=exact(run_off, "kg")),
        )
        quote = make_quote(replace(one, layers=(replace(one.layers[0], losses=losses),)), rates(), quoted_on=DAY)
        (basis,) = [line.basis for line in quote.lines if line.key == "loss-gold"]
        assert basis.startswith("87.7 mg held, 0 mg credited")
