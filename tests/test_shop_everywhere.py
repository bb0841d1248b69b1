"""Python, the command line and HTTP fill a plan from the shop profile alike, and agree on pieces."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner
from starlette.testclient import TestClient

import areakit
from areakit.cli.main import group
from areakit.records.planned_job import read_planned_job
from areakit.service.shop_profile import example_text
from areakit.web.app import make_app
from areakit.web.settings import Address

DEMO = Path(__file__).resolve().parents[1] / "demo_images"


@pytest.fixture
def shops(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "default.toml").write_text(example_text(), encoding="utf-8")
    monkeypatch.setenv("AREAKIT_SHOPS", str(tmp_path))
    return tmp_path


@pytest.fixture(scope="module")
def api() -> TestClient:
    return TestClient(make_app(address=Address(port=8137)), base_url="http://127.0.0.1:8137")


def by_command(*arguments: str) -> dict:
    result = CliRunner().invoke(group, ["plan", "--json", *arguments])
    assert result.exit_code == 0, result.output
    return json.loads(result.stdout)


@pytest.mark.parametrize("more", [{}, {"brush": "wide"}, {"footprint": "4 cm2"}, {"shop": "example"}])
def test_a_typed_area(shops: Path, api: TestClient, more: dict[str, str]) -> None:
    options = [f"--{key}={text}" for key, text in more.items()]
    command = by_command("--area=12.5 cm2 ± 0.2 cm2", "--process=nickel-gold-brush", *options)
    python = areakit.plan("12.5 cm2 ± 0.2 cm2", process="nickel-gold-brush", **more)
    web = api.post("/api/plan", json={"area": "12.5 cm2 ± 0.2 cm2", "process": "nickel-gold-brush", **more})
    assert command == python.to_json() == web.json()
    assert command["layers"][1]["by_volts"] is None or "brush" not in more


def test_a_measured_part_by_its_stock_and_process(shops: Path, api: TestClient) -> None:
    photo = DEMO / "pierced-badge.jpg"
    command = by_command(str(photo), "--thickness=tag-brass", "--process=nickel-tank")
    measured = areakit.measure(str(photo), thickness="1.2 ± 0.05 mm", faces="all", check_lengths="150 x 90 mm")
    assert areakit.plan(measured, process="nickel-tank").to_json() == command
    body = {"measured": measured.to_json(), "process": "nickel-tank"}
    assert api.post("/api/plan", json=body).json() == command
    assert command["layers"][0]["tank"]["current_density"]["value"] == pytest.approx(3.0)  # that of the tank


def test_a_profile_with_one_process_needs_none(shops: Path, api: TestClient) -> None:
    text = example_text().replace('process = "nickel-gold-brush, nickel-tank"', 'process = "nickel-tank"')
    (shops / "default.toml").write_text(text, encoding="utf-8")
    python = areakit.plan("12.5 cm2")
    assert python.plan.order.process.key == "nickel-tank"
    assert by_command("--area=12.5 cm2") == python.to_json() == api.post("/api/plan", json={"area": "12.5 cm2"}).json()


def test_what_is_missing_is_said_in_the_same_words(shops: Path, api: TestClient) -> None:
    web = api.post("/api/plan", json={"area": "12.5 cm2"}).json()
    with pytest.raises(areakit.AreakitError) as told:
        areakit.plan("12.5 cm2")
    assert told.value.message == web["message"]
    assert "process" in web["message"]
    result = CliRunner().invoke(group, ["plan", "--json", "--area=12.5 cm2"])
    assert isinstance(result.exception, areakit.AreakitError)
    assert result.exception.message == web["message"]


def test_none_asks_no_profile(shops: Path) -> None:
    with pytest.raises(areakit.AreakitError, match="thickness of gold"):
        areakit.plan("12.5 cm2", process="gold-brush", shop="none")


def six_tags(tmp_path: Path) -> Path:
    """A drawing of six equal tags, each turned, in millimetres."""
    shape = "M0 0H40V20H0Z M4 10a2 2 0 1 0 4 0a2 2 0 1 0 -4 0Z"
    tag = '<path d="' + shape + '" fill-rule="evenodd" transform="translate({x} {y}) rotate({turn})"/>'
    tags = "".join(tag.format(x=60 * (i % 3) + 40, y=60 * (i // 3) + 40, turn=17 * i) for i in range(6))
    path = tmp_path / "tags.svg"
    path.write_text(
        f'<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="200mm" viewBox="0 0 300 200">{tags}</svg>',
        encoding="utf-8",
    )
    return path


def test_plan_quote_and_python_agree_on_six_pieces(shops: Path, api: TestClient, tmp_path: Path) -> None:
    drawing = six_tags(tmp_path)
    options = (str(drawing), "--thickness=1.2 mm", "--process=nickel-gold-brush")
    command = by_command(*options)
    assert (command["pieces"], len(command["parts"])) == (6, 6)
    job = read_planned_job(json.dumps(command))
    assert job.pieces == 6
    found = areakit.plated_surface(str(drawing), thickness="1.2 mm", faces="all")
    assert areakit.plan(found, process="nickel-gold-brush").to_json() == command
    body = {"measured": found.to_json(), "process": "nickel-gold-brush"}
    assert api.post("/api/plan", json=body).json() == command
    card = CliRunner().invoke(group, ["plan", *options])
    assert "6 pieces of " in card.stdout.splitlines()[0]
    assert len(card.stdout.splitlines()) <= 20
