"""The settings file of a shop as a form: what it asks, what is in it, and the file that is made of it."""

import tomllib

import pytest

from areakit.costing.rates import rates_text, read_rates
from areakit.costing.rates_form import rates_file, rates_form, rates_values
from areakit.errors import InputError


def test_every_entry_of_the_file_is_a_field() -> None:
    form = {row["path"]: row for row in rates_form()}
    body = tomllib.loads(rates_text(currency="EUR"))
    paths = {key for key, value in body.items() if not isinstance(value, dict)}
    paths |= {f"{section}.{key}" for section, rows in body.items() if isinstance(rows, dict) for key in rows}
    assert {path for path in paths if path.partition(".")[0] not in ("solutions", "breaks", "metals")} == set(form)
    assert form["currency"]["kind"] == "code"
    assert form["labour.per_hour"]["start"] == ""
    assert form["labour.per_hour"]["example"] == "48.00"
    assert all(row["question"] for row in form.values())


def test_what_the_form_reads_it_writes_again() -> None:
    text = rates_text(example=True, currency="CHF")
    values = rates_values(text)
    assert (values["currency"], values["labour.per_hour"]) == ("CHF", "48.00")
    again = rates_file(values)
    assert rates_values(again) == {name: value for name, value in values.items() if value}
    assert read_rates(again) == read_rates(text)


def test_metal_prices_and_tables_in_tables_stay_out() -> None:
    text = '[metals]\ngold = "1"\n[breaks]\n10 = "90 %"\n[breaks.deep]\nx = "1"\n'
    assert rates_values(text) == {"breaks.10": "90 %"}
    with pytest.raises(InputError, match="not valid TOML"):
        rates_values("a = ")


def test_a_file_has_only_what_was_filled_in() -> None:
    values = {"currency": " EUR ", "labour.per_hour": "", "shares.margin": "15 %", "breaks.10": "90 %",
              "solutions.gold-brush": "50"}  # fmt: skip
    assert rates_file(values) == (
        'currency = "EUR"\n[shares]\nmargin = "15 %"\n[breaks]\n10 = "90 %"\n[solutions]\ngold-brush = "50"\n'
    )
    assert rates_file({"shares.margin": "Größe"}) == '[shares]\nmargin = "Größe"\n'


@pytest.mark.parametrize(
    "path", ["colour", "labour.colour", "breaks.a b", "breaks." + 41 * "1", "metals.gold", "breaks."]
)
def test_a_path_that_is_no_rate_is_refused(path: str) -> None:
    with pytest.raises(InputError, match="There is no rate"):
        rates_file({path: "1"})
    assert rates_file({"breaks." + 40 * "1": "1"})
