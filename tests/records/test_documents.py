import json
import math
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

import pytest
from shapely.geometry import Point, box, shape

from areakit.geometry.outline import Outline
from areakit.geometry.part import Part, thickness_mm
from areakit.geometry.surface import plated_surface
from areakit.plating.premise import Origin, Premise
from areakit.records.codec import as_json, picked
from areakit.records.measure_json import part_json
from areakit.uncertainty import Measured


def washer() -> Outline:
    """A 20 mm square with a round hole of radius 3 mm."""
    polygon = box(0, 0, 20, 20) - Point(8, 10).buffer(3, quad_segs=64)
    scale = 0.002
    return Outline(
        polygon=polygon,
        area=Measured(value=polygon.area, unit="mm2", budget={"scale": 2 * scale * polygon.area}),
        perimeter_outer=Measured(value=80, unit="mm", budget={"scale": scale * 80}),
        perimeter_holes=Measured(
            value=polygon.interiors[0].length, unit="mm", budget={"scale": scale * polygon.interiors[0].length}
        ),
        origin="photo",
    )


def test_a_part_becomes_json_that_adds_up() -> None:
    outline, thickness = washer(), thickness_mm(1.5, 0.03)
    surface = plated_surface(Part(outline=outline, thickness=thickness, faces="all"))
    body = json.loads(json.dumps(part_json(1, surface, outline, thickness)))
    assert body["perimeter"]["value"] == pytest.approx(body["perimeter"]["outer"]["value"] + 2 * math.pi * 3, rel=1e-3)
    assert body["side_wall_area"]["value"] == pytest.approx(1.5 * body["perimeter"]["value"])
    assert body["plated_area"]["value"] == pytest.approx(
        2 * body["face_area"]["value"] + body["side_wall_area"]["value"]
    )
    assert sum(line["area"]["value"] for line in body["surfaces"]) == pytest.approx(body["plated_area"]["value"])
    assert shape(body["outline"]).area == pytest.approx(outline.polygon.area, rel=1e-6)
    assert set(body["plated_area"]["budget"]) == {"scale", "thickness"}
    assert sum(body["shares"].values()) == pytest.approx(1.0)


def test_what_is_not_known_is_null() -> None:
    outline = washer()
    surface = plated_surface(Part(outline=outline, thickness=None, faces="one"))
    body = part_json("a", surface, outline, None)
    assert body["thickness"] is None
    assert body["side_wall_area"] is None
    assert body["plated_area"] == body["face_area"]
    assert body["edge_make"] is None
    assert part_json("a", surface, replace(outline, edge_make="sawn"), None)["edge_make"] == "sawn"


@dataclass(frozen=True, kw_only=True)
class Line:
    """What a dataclass may hold."""

    amount: Decimal
    day: date
    made: Measured
    lines: tuple[str, ...] = ("a",)
    nothing: None = None


def test_a_dataclass_becomes_json_by_its_fields_in_the_units_that_people_see() -> None:
    line = Line(amount=Decimal("4.10"), day=date(2026, 3, 14), made=Measured(value=2e-6, unit="kg"))
    body = json.loads(json.dumps(as_json(line)))
    assert list(body) == ["amount", "day", "made", "lines", "nothing"]
    assert (body["amount"], body["day"], body["lines"], body["nothing"]) == ("4.10", "2026-03-14", ["a"], None)
    assert (body["made"]["value"], body["made"]["unit"]) == (pytest.approx(2.0), "mg")
    assert picked(line, "day") == {"day": "2026-03-14"}


def test_an_origin_names_its_source_only_where_it_has_one() -> None:
    given = Premise(
        name="density", quantity=Measured(value=19.3e3, unit="kg/m3"), origin=Origin(kind="given", text="typed")
    )
    assert as_json(given)["origin"] == {"kind": "given", "text": "typed"}
    assert as_json(given)["quantity"]["unit"] == "g/cm3"
    told = as_json(Origin(kind="published", text="table", source="gum"))
    assert told["source"] == "gum"
    assert "JCGM 100" in told["citation"]
