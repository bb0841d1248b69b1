"""Python, the command line and the API give one answer."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner
from starlette.testclient import TestClient

import areakit
from areakit.cli.main import group
from areakit.records.plan_json import plan_json
from areakit.service.measure import MeasureRequest, measure, result_json
from areakit.service.plan import PlanRequest, plan
from areakit.web.app import make_app
from areakit.web.settings import Address

DEMO = Path(__file__).resolve().parents[1] / "demo_images"
QUERY = {
    "thickness": "1.2 ± 0.1 mm",
    "faces": "all",
    "edge_make": "sawn",
    "mark": "frame",
}
CHECK_LENGTHS = {"pierced-badge.jpg": "150.1 x 90.0 mm"}
LAYERS = {"nickel": "3 um", "gold": "0.5 um"}


@pytest.fixture(scope="module")
def api() -> TestClient:
    return TestClient(make_app(address=Address(port=8137)), base_url="http://127.0.0.1:8137")


def by_command(*arguments: str, code: int = 0) -> dict:
    result = CliRunner().invoke(group, list(arguments))
    assert result.exit_code == code, result.output
    return json.loads(result.stdout)


@pytest.mark.parametrize("name", ["pierced-badge.jpg", "refused-crossing.jpg"])
def test_a_photo(api: TestClient, name: str) -> None:
    path = DEMO / name
    query = {**QUERY, "edge_form": "rounded 0.2 mm"}
    query |= {"check_lengths": CHECK_LENGTHS[name]} if name in CHECK_LENGTHS else {}
    python = json.loads(json.dumps(result_json(next(measure([path], MeasureRequest(**query))))))
    options = [f"--{key.replace('_', '-')}={text}" for key, text in query.items()]
    command = by_command("measure", str(path), "--json", *options, code=3 if python["status"] == "refused" else 0)
    web = api.post("/api/measure", params={**query, "name": name}, content=path.read_bytes()).json()
    assert command == python
    assert {key: web[key] for key in python} == python


def test_a_plan(api: TestClient) -> None:
    fields = {"process": "nickel-gold-brush", "area": "12.5 cm2 ± 0.2 cm2", "layers": LAYERS, "footprint": "4 cm2"}
    fields |= {"efficiency": {"gold": "72% ± 6%"}, "pieces": 3, "base": "brass"}
    fields["current_density"] = {"gold": "10 A/dm2"}
    python = json.loads(json.dumps(plan_json(plan(PlanRequest(**fields)))))
    command = by_command(
        "plan", "--json", "--process=nickel-gold-brush", "--area=12.5 cm2 ± 0.2 cm2", "--layer=nickel=3 um",
        "--layer=gold=0.5 um", "--footprint=4 cm2", "--efficiency=gold=72% ± 6%", "--current-density=gold=10 A/dm2",
        "--pieces=3", "--base=brass",
    )  # fmt: skip
    assert command == python
    assert api.post("/api/plan", json=fields).json() == python


def test_a_plan_from_a_measurement(api: TestClient) -> None:
    photo = DEMO / "several-parts.jpg"
    measured = api.post("/api/measure", params={"name": photo.name}, content=photo.read_bytes()).json()
    fields = {"process": "gold-brush", "layers": {"gold": "0.5 um"}, "efficiency": {"gold": "handbook"}, "part": 2}
    python = plan_json(plan(PlanRequest(**fields, measured=json.dumps(measured))))
    assert api.post("/api/plan", json={**fields, "measured": measured}).json() == json.loads(json.dumps(python))


def test_claims(api: TestClient) -> None:
    claims = {"area": "12.5 cm2", "metal": "gold", "thickness": "0.5 um", "thickness_is": "mean", "mass": "21 mg"}
    options = [f"--{key.replace('_', '-')}={text}" for key, text in claims.items()]
    command = by_command("check", "--json", *options)
    (web,) = api.post("/api/check", json={"claims": claims}).json()["verdicts"]
    assert {key: web[key] for key in command} == command


def test_a_photo_with_a_region_of_another_form(api: TestClient) -> None:
    path = DEMO / "pierced-badge.jpg"
    region = "rectangle 60 x 12 mm, at 92 85 mm: thickness 2 ± 0.05 mm"
    query = {**QUERY, "check_lengths": CHECK_LENGTHS[path.name]}
    python = areakit.measure(path, regions=[region], **query).to_json()
    options = [f"--{key.replace('_', '-')}={text}" for key, text in query.items()]
    command = by_command("measure", str(path), "--json", f"--region={region}", *options)
    web = api.post("/api/measure", params={**query, "region": region, "name": path.name}, content=path.read_bytes())
    named = {**python, "photo": command["photo"]}
    assert command == named
    assert {key: web.json()[key] for key in command} == command
    assert command["parts"][0]["form_regions"][0]["words"] == "thickness 2 ± 0.05 mm"
