"""A verdict on claims as JSON, and the tables that claims are read from."""

import json
import math
from typing import Any

import pytest

from areakit.costing.claims import read_claims
from areakit.costing.verdict import check_claims
from areakit.errors import InputError
from areakit.flags import Flag
from areakit.plating.findings import Finding
from areakit.records.check_json import read_claim_rows, shown, verdict_json
from areakit.records.codec import as_json, fields_of, in_json
from areakit.uncertainty import Measured, exact


def body_of(**entries: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(json.dumps(verdict_json(check_claims(read_claims(entries)))))
    return found


GOLD = {"metal": "gold", "area": "12.50 cm2", "thickness": "0.500 um", "thickness_is": "minimum", "uncertainty": "2 %"}


def test_a_comparison_prints_both_sides_and_how_far_they_are_apart() -> None:
    """0.5 um x 12.5 cm2 x 19.32 g/cm3 are 12.075 mg, times the usual allowance; three times too much is + 200 %."""
    body = body_of(metal="gold", area="12.50 cm2", thickness="0.500 um", thickness_is="mean", mass="36.225 mg")
    (one,) = [one for one in body["comparisons"] if one["key"].startswith("mass")]
    assert (one["claimed"]["value"], one["claimed"]["unit"]) == (pytest.approx(36.225), "mg")
    assert one["expected"]["value"] == pytest.approx(12.075)
    assert one["ratio"] == pytest.approx(3.0)
    assert one["difference_percent"] == pytest.approx(200.0)
    assert (one["agrees"], body["agrees"]) == (False, False)
    assert one["normalised_error"] > 1.0
    assert body["disagreeing"] == [one["key"]]
    assert (one["note"], body["floor"]) == (None, None)
    for told in body["explanations"]:
        assert told["words"].startswith("would explain it: ")
        assert told["slips"]


def test_a_floor_prints_what_is_needed_and_what_was_claimed() -> None:
    body = body_of(**GOLD, mass="10.0 mg")
    floor = body["floor"]
    assert floor["needed"]["value"] == pytest.approx(12.075)
    assert (floor["claimed"]["value"], floor["claimed_is"]) == (pytest.approx(10.0), "claimed metal mass")
    assert (floor["area"], floor["misses_the_requirement"], floor["undecided"]) == ("as claimed", True, False)
    assert body_of(**GOLD, mass="12.1 mg")["floor"]["misses_the_requirement"] is False


def test_exact_sides_that_differ_have_no_normalised_error() -> None:
    body = body_of(metal="silver", current="1.000 ± 0 A", time="60 ± 0 s", charge="61 ± 0 C")
    (one,) = [one for one in body["comparisons"] if one["key"] == "charge-time"]
    assert (one["normalised_error"], one["agrees"]) == (None, False)


def test_figures_are_shown_in_units_of_the_trade() -> None:
    sides = [shown(exact(value, unit)) for value, unit in ((1e-6, "m"), (60.0, "C"), (1e-6, "kg"), (5.0, "A"))]
    assert [(one.value, one.unit) for one in sides] == [
        (pytest.approx(1.0), "um"), (pytest.approx(1.0), "A.min"), (pytest.approx(1.0), "mg"), (5.0, "A"),
    ]  # fmt: skip
    # 1 A.h/in3 is 3600 C over 16.387064 cm3
    factor = shown(Measured(value=3600.0 / 16.387064e-6, unit="C/m3", budget={"f": 36.0 / 16.387064e-6}))
    assert (factor.value, factor.unit, factor.standard_uncertainty) == (
        pytest.approx(1.0),
        "A.h/in3",
        pytest.approx(0.01),
    )


@pytest.mark.parametrize("mark", [";", "\t", ","])
def test_a_table_is_read_with_the_sign_that_its_header_has_most_of(mark: str) -> None:
    text = f"name{mark} area{mark} mass\na{mark} 12.5 cm2{mark} 3 mg\nb{mark}{mark} 4 mg\n"
    assert read_claim_rows(text) == [
        {"name": "a", "area": "12.5 cm2", "mass": "3 mg"}, {"name": "b", "mass": "4 mg"},
    ]  # fmt: skip


def test_lines_and_lists_and_single_objects_are_read() -> None:
    one = {"area": "3 cm2"}
    for text in (json.dumps(one), json.dumps([one]), f"{json.dumps(one)}\n"):
        assert read_claim_rows(text) == [one]
    assert len(read_claim_rows(f"{json.dumps(one)}\n\n{json.dumps(one)}")) == 2
    assert len(read_claim_rows(json.dumps([one] * 10_000))) == 10_000
    with pytest.raises(InputError, match="10001 claims"):
        read_claim_rows(json.dumps([one] * 10_001))


# What the codec leaves out where it is not


def test_places_parts_and_fields_stand_only_where_they_are() -> None:
    plain = Flag(code="A", message="m", remedy="r")
    full = Flag(code="A", message="m", remedy="r", part=0, place=2, fields={"hole": "2"})
    assert as_json(plain) == {"code": "A", "message": "m", "remedy": "r"}
    assert as_json(full) == {"code": "A", "message": "m", "remedy": "r", "fields": {"hole": "2"}, "part": 0, "place": 2}
    assert fields_of(as_json(full)) == {"hole": "2"}
    assert fields_of({"fields": 3}) == {}
    given = {"code": "X", "severity": "note", "message": "m", "why": "w", "source": "practice", "remedy": "r"}
    bare, asked = (Finding(**given, **more) for more in ({}, {"fields": {"base": "brass"}}))  # type: ignore[arg-type]
    assert "fields" not in as_json(bare)
    assert as_json(asked)["fields"] == {"base": "brass"}
    assert as_json(bare)["citation"] == "Common practice, no source"


def test_a_quantity_in_a_unit_or_none() -> None:
    assert in_json(None, "mg") is None
    found = in_json(exact(2.0, "g"), "mg")
    assert found is not None
    assert (found["value"], found["unit"]) == (pytest.approx(2000.0), "mg")
    assert math.isfinite(found["expanded_uncertainty"])
