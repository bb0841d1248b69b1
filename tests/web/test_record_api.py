"""The record through the HTTP API: the same journal, the same figures as the command line's."""

from __future__ import annotations

import base64
import json
import signal
import urllib.request
from datetime import datetime
from pathlib import Path

import pytest
from bench_page import PATIENCE, Server
from click.testing import CliRunner
from starlette.testclient import TestClient

from areakit.cli.main import group
from areakit.reports.certificate_facts import read_certificate
from areakit.service.desk import Desk
from areakit.web.app import make_app
from areakit.web.settings import Address

ROOT = Path(__file__).resolve().parents[2]
PHOTO = ROOT / "demo_images" / "pierced-badge.jpg"


def api_of(journal: Path) -> TestClient:
    def desk(who: str | None) -> Desk:
        return Desk(path=journal, who=who or "bench", now=datetime.now().astimezone())

    app = make_app(address=Address(port=8137), desk=desk)
    return TestClient(app, base_url="http://127.0.0.1:8137", client=("127.0.0.1", 50_000))


@pytest.fixture
def api(tmp_path: Path) -> TestClient:
    return api_of(tmp_path / "shop.sqlite")


@pytest.fixture(scope="module")
def badge(tmp_path_factory: pytest.TempPathFactory) -> dict:
    here = api_of(tmp_path_factory.mktemp("badge") / "shop.sqlite")
    query = {"thickness": "1.2 mm", "faces": "all", "name": "pierced-badge.jpg"}
    return here.post("/api/measure", params=query, content=PHOTO.read_bytes()).json()


def planned(api: TestClient, badge: dict) -> str:
    """Open a job with area and plan, and return its number."""
    fields = {"process": "nickel-gold-brush", "layers": {"nickel": "3 um", "gold": "0.5 um"}, "measured": badge}
    plan = api.post("/api/plan", json={**fields, "efficiency": {"gold": "handbook"}}).json()
    number = api.post("/api/jobs", json={"part": "club badge", "quantity": 2}, params={"who": "Ana"}).json()["number"]
    for kind, body in (("measured", badge), ("planned", plan)):
        assert api.post(f"/api/jobs/{number}/entries/{kind}", json={"document": body}).status_code == 201
    return number


def command(journal: Path, *arguments: str) -> str:
    result = CliRunner().invoke(group, [*arguments, "--journal", str(journal)])
    assert result.exit_code == 0, result.output
    return result.stdout


def test_the_command_line_shows_the_job_that_the_page_made(api: TestClient, badge: dict, tmp_path: Path) -> None:
    assert api.get("/api/jobs").json() == {"jobs": []}
    number = planned(api, badge)
    photo = api.post(f"/api/jobs/{number}/entries/photographed", params={"name": "b.jpg"}, content=PHOTO.read_bytes())
    assert photo.json()["entry"] == 4
    web = api.get(f"/api/jobs/{number}").json()
    words = web.pop("words")
    assert json.loads(command(tmp_path / "shop.sqlite", "job", "show", number, "--json")) == web
    assert words["1"] == "2 × club badge"
    assert web["entries"][0]["who"] == "Ana"
    assert web["entries"][1]["who"] == "bench"
    assert web["area"]["value"] == pytest.approx(badge["parts"][0]["plated_area"]["value"])
    (row,) = api.get("/api/jobs", params={"words": "BADGE"}).json()["jobs"]
    assert (row["number"], row["state"]) == (number, "open")


def test_a_run_adds_up_current_times_time(api: TestClient, badge: dict) -> None:
    number = planned(api, badge)
    begun = api.post(f"/api/jobs/{number}/entries/step", json={"step": 6, "pieces": 1, "at": "00:00:00"}).json()
    for at, body in (
        ("00:00:10", {"current": "1.5 A"}),
        ("00:02:10", {"current": "2 A"}),
        ("00:03:10", {"stop": True}),
    ):
        answer = api.post(f"/api/jobs/{number}/entries/reading", json={**body, "at": at})
        assert answer.status_code == 201, answer.text
    run = api.get(f"/api/jobs/{number}/run", params={"entry": begun["entry"]}).json()
    assert run["charge"]["value"] == pytest.approx((1.5 + 2) / 2 * 2 + 2 * 1)  # A·min: two trapezia, by hand
    assert run["remaining"]["value"] == pytest.approx(run["target"]["value"] - 5.5)
    assert run["live_seconds"] == 180
    off = api.post(f"/api/jobs/{number}/entries/reading", json={"stop": True})
    assert off.json()["message"] == "The current is off already."


def test_whoever_signs_must_have_seen_the_last_entry(api: TestClient, badge: dict) -> None:
    number = planned(api, badge)
    seen = api.get(f"/api/jobs/{number}").json()["last"]
    entries = f"/api/jobs/{number}/entries"
    defect = {"what": "pit", "points_mm": [badge["parts"][0]["outline"]["coordinates"][0][0]]}
    assert api.post(f"{entries}/defect", json=defect).status_code == 201
    late = api.post(f"{entries}/signed", json={"statement": "Released", "after": seen})
    assert (late.status_code, late.json()["code"]) == (409, "RECORD_CHANGED")
    bare = api.post(f"{entries}/signed", json={"statement": "Released", "after": seen + 1})
    assert (bare.status_code, bare.json()["code"]) == (409, "NOT_READY")
    answered = {"statement": "Released", "role": "owner", "despite": "a trial", "after": seen + 1}
    assert api.post(f"{entries}/signed", json=answered).json()["state"] == "signed"
    withdrawn = {"entry": seen + 1, "withdraw": True, "reason": "dust"}
    assert api.post(f"{entries}/corrected", json=withdrawn).json()["state"] == "changed after sign-off"


def test_the_traveller_tells_of_a_corrected_outline(api: TestClient, badge: dict) -> None:
    part, rings = badge["parts"][0], badge["rings_px"][0]
    body = {"part": part, "before_px": rings, "rings_px": rings[:1], "camera": badge["camera"]}
    mended = api.post("/api/surface", json=body).json()
    flags = [{**flag, "part": 1} for flag in mended["flags"]]
    number = api.post("/api/jobs", json={"part": "badge"}).json()["number"]
    document = {**badge, "parts": [mended], "flags": flags}
    api.post(f"/api/jobs/{number}/entries/measured", json={"document": document})
    assert "This outline was corrected by hand" in api.get(f"/api/jobs/{number}").json()["words"]["2"]
    page = api.get(f"/api/jobs/{number}/traveller", params={"form": "html"})
    assert "corrected by hand" in page.text
    assert page.headers["content-disposition"].startswith("attachment")
    assert api.get(f"/api/jobs/{number}/traveller").content.startswith(b"%PDF-")


def test_photo_area_and_plan_go_in_as_one_write_or_not_at_all(api: TestClient, badge: dict) -> None:
    number = api.post("/api/jobs", json={"part": "club badge"}).json()["number"]
    photo = {"kind": "photographed", "name": "b.jpg", "base64": base64.b64encode(PHOTO.read_bytes()).decode()}
    area = {"kind": "measured", "document": badge, "part": 1}
    for wrong in ({"kind": "measured", "document": badge, "part": 9}, {"kind": "planned"}, {**photo, "base64": "?"}):
        assert api.post(f"/api/jobs/{number}/entries", json={"entries": [photo, area, wrong]}).status_code == 422
    assert len(api.get(f"/api/jobs/{number}").json()["entries"]) == 1
    assert api.post(f"/api/jobs/{number}/entries", json={"entries": []}).status_code == 422
    made = api.post(f"/api/jobs/{number}/entries", json={"entries": [photo, area], "after": 1})
    assert (made.status_code, made.json()["entries"]) == (201, [2, 3])
    kinds = [entry["kind"] for entry in api.get(f"/api/jobs/{number}").json()["entries"]]
    assert kinds == ["opened", "photographed", "measured"]
    assert api.post(f"/api/jobs/{number}/entries", json={"entries": [area], "after": 1}).status_code == 409


def test_a_second_press_with_the_same_key_is_answered_and_writes_nothing(api: TestClient, badge: dict) -> None:
    def press(path: str, body: dict, key: str) -> tuple[int, dict]:
        made = api.post(path, json=body, headers={"Idempotency-Key": key})
        return made.status_code, made.json()

    first, again = (press("/api/jobs", {"part": "tag"}, "a") for _ in range(2))
    assert (first[0], again[0]) == (201, 200)
    assert first[1]["number"] == again[1]["number"]
    number = first[1]["number"]
    entries = f"/api/jobs/{number}/entries"
    area = {"entries": [{"kind": "measured", "document": badge}, {"kind": "measured", "document": badge}]}
    for path, body in (
        (f"{entries}/remarked", {"text": "once"}),
        (f"{entries}/step", {"title": "Plate", "metal": "gold"}),
        (f"{entries}/reading", {"current": "1 A"}),
        (entries, area),
    ):
        once, twice = (press(path, body, path) for _ in range(2))
        assert (once[0], twice[0]) == (201, 200), path
        assert once[1]["entry"] == twice[1]["entry"]
        assert once[1].get("run") == twice[1].get("run")
        assert once[1].get("entries") == twice[1].get("entries")
    kinds = [entry["kind"] for entry in api.get(f"/api/jobs/{number}").json()["entries"]]
    assert kinds == ["opened", "remarked", "step", "reading", "measured", "measured"]
    status, told = press(f"{entries}/remarked", {"text": "other"}, "a")
    assert status == 422
    assert "was used before: for opened" in told["message"]
    sheet = {"name": "bench-1", "sheet": "A5-r1", "lengths": "150 x 90 mm"}
    assert [press("/api/sheet-copies", sheet, "p")[0] for _ in range(2)] == [201, 200]


def test_a_job_is_opened_like_another(api: TestClient, badge: dict) -> None:
    number = planned(api, badge)
    made = api.post("/api/jobs", json={"like": number, "quantity": 5, "customer": "order 40"})
    assert made.status_code == 201
    assert made.json()["order"]["quantity"] == 5
    assert [entry["kind"] for entry in made.json()["entries"]] == ["opened", "measured", "planned"]
    assert made.json()["entries"][2]["doc"]["plan"]["pieces"] == 5
    assert "LIKE_NOT_SIGNED" in [one["code"] for one in made.json()["findings"]]
    assert api.post("/api/jobs", json={}).status_code == 422


def test_a_released_job_gets_its_certificate_and_its_code_is_verified(api: TestClient) -> None:
    number = api.post("/api/jobs", json={"part": "hinge", "number": "J1"}).json()["number"]
    refused = api.post(f"/api/jobs/{number}/certificate")
    assert (refused.status_code, refused.json()["code"]) == (409, "NOT_READY")
    signed = {"statement": "Released", "role": "inspector", "despite": "no plan was needed"}
    assert api.post(f"/api/jobs/{number}/entries/signed", json=signed).status_code == 201
    made = api.post(f"/api/jobs/{number}/certificate", params={"paper": "letter", "who": "Ana"})
    assert made.content.startswith(b"%PDF-")
    assert 'filename="certificate-J1.pdf"' in made.headers["content-disposition"]
    entry = api.get(f"/api/jobs/{number}").json()["entries"][-1]
    assert (entry["kind"], entry["who"]) == ("certified", "Ana")
    code = read_certificate(made.content)[0]
    assert api.get(f"/api/jobs/{number}/verify", params={"code": code}).json()["order"][0] == ["Part", "hinge"]
    assert api.get(f"/api/jobs/{number}/verify").status_code == 422
    api.post("/api/jobs", json={"part": "hinge", "number": "J2"})
    other = api.get("/api/jobs/J2/verify", params={"code": code})
    assert (other.status_code, other.json()["code"]) == (409, "OTHER_JOB")


def test_the_traveller_draws_the_lanes_that_the_plan_laid(api: TestClient, badge: dict) -> None:
    fields = {"process": "gold-brush", "layers": {"gold": "0.5 um"}, "efficiency": {"gold": "handbook"}}
    fields |= {"measured": badge, "hand_speed": "9 m/min"}
    spread = {"footprint_size": "20 x 10 mm", "overlap": "60%", "overrun": "4 mm", "footprint_corners": "square"}
    plan = api.post("/api/plan", json={**fields, "spread": spread}).json()
    strokes = api.post("/api/strokes", json={**fields, "spread": spread}).json()
    number = api.post("/api/jobs", json={"part": "badge"}).json()["number"]
    for kind, body in (("measured", badge), ("planned", plan)):
        api.post(f"/api/jobs/{number}/entries/{kind}", json={"document": body})
    page = api.get(f"/api/jobs/{number}/traveller", params={"form": "html", "lanes": "20 x 10 mm"}).text
    assert f"{strokes['lanes']} lanes" in page
    assert f"{strokes['seconds_per_pass']:.1f} s a pass at 150 mm/s" in page  # 9 m/min


@pytest.mark.parametrize(
    ("kind", "body", "status"),
    [
        ("weighed", {"when": "before", "mass": "41.2 g"}, 201),
        ("weighed", {"when": "during", "mass": "41.2 g"}, 422),
        ("weighed", {"when": "before", "mass": "41,200 g"}, 422),
        ("required", {"text": "gold 0.5 um", "minimum": "0.5 um"}, 201),
        ("tested", {"method": "tape", "result": "pass"}, 201),
        ("tested", {"method": "xrf", "result": "value"}, 422),
        ("reworked", {"what": "polished"}, 201),
        ("remarked", {"text": "as agreed"}, 201),
        ("remarked", {"text": "as agreed", "colour": "red"}, 422),
        ("planned", {"document": {"a": 1}}, 422),
        ("measured", {"document": {"parts": []}}, 422),
        ("painted", {}, 422),
        ("photographed", {}, 422),
    ],
)
def test_entries_are_kept_or_refused_with_a_reason(api: TestClient, kind: str, body: dict, status: int) -> None:
    number = api.post("/api/jobs", json={"part": "badge", "number": "31/2"}).json()["number"]
    answer = api.post(f"/api/jobs/{number}/entries/{kind}", json=body)
    assert answer.status_code == status, answer.text
    assert api.get(f"/api/jobs/{number}").json()["last"] == (2 if status == 201 else 1)
    if status == 422:
        assert answer.json()["remedy"].endswith((".", "!"))


def test_a_print_is_remembered_and_used(api: TestClient, tmp_path: Path) -> None:
    kept = api.post("/api/sheet-copies", json={"name": "bench-1", "sheet": "A5-r1", "lengths": "150.2 x 89.9 mm"})
    assert kept.status_code == 201
    assert api.get("/api/sheet-copies").json()["copies"][0]["lengths_mm"] == [150.2, 89.9]
    content = PHOTO.read_bytes()
    by_name = api.post("/api/measure", params={"sheet_copy": "bench-1"}, content=content).json()
    by_lengths = api.post("/api/measure", params={"check_lengths": "150.2 x 89.9 mm"}, content=content).json()
    area, other = (one["parts"][0]["face_area"]["value"] for one in (by_name, by_lengths))
    assert area == pytest.approx(other)
    assert by_name["sheet_copy"]["name"] == "bench-1"
    assert api.post("/api/measure", params={"sheet_copy": "bench-9"}, content=content).status_code == 422
    api.post("/api/sheet-copies", json={"name": "big", "sheet": "A4-r1", "lengths": "200.2 x 119.9 mm"})
    wrong = api.post("/api/measure", params={"sheet_copy": "big"}, content=content)
    assert "more than 3 % off" in wrong.json()["message"]


def test_a_bottle_is_offered_and_checked_before_a_step(api: TestClient, badge: dict, tmp_path: Path) -> None:
    command(
        tmp_path / "shop.sqlite", "bottle", "add", "N3", "--solution", "nickel", "--metal", "nickel", "--volume",
        "500 mL", "--expiry", "2001-01-01",
    )  # fmt: skip
    (bottle,) = api.get("/api/bottles").json()["bottles"]
    assert bottle["label"] == "N3"
    number = planned(api, badge)
    step = {"step": 6, "bottle": "N3"}
    stopped = api.post(f"/api/jobs/{number}/entries/step", json=step)
    assert stopped.status_code == 422
    assert "2001-01-01" in stopped.json()["message"]
    begun = api.post(f"/api/jobs/{number}/entries/step", json={**step, "despite": "trial piece"})
    assert begun.status_code == 201
    assert [finding["severity"] for finding in begun.json()["findings"]] == ["stop"]


def test_a_charge_run_elsewhere_tells_its_thickness(api: TestClient, badge: dict) -> None:
    fields = {"metal": "gold", "charge": "0.7 A.min", "efficiency": "handbook", "measured": badge}
    answer = api.post("/api/deposit", json=fields)
    assert answer.status_code == 200, answer.text
    with_cli = CliRunner().invoke(
        group,
        ["deposit", "--from", "-", "--metal", "gold", "--charge", "0.7 A.min", "--efficiency", "handbook", "--json"],
        input=json.dumps(badge),
    )
    assert json.loads(with_cli.stdout) == answer.json()


def test_a_server_without_a_journal_says_so() -> None:
    bare = TestClient(make_app(address=Address(port=8137)), base_url="http://127.0.0.1:8137")
    assert bare.get("/api/jobs").json()["code"] == "NO_JOURNAL"


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="needs a kill that no program can catch")
def test_what_was_acknowledged_outlives_a_killed_server(tmp_path: Path) -> None:
    journal = tmp_path / "shop.sqlite"
    server = Server(journal).start()

    def post(path: str, body: dict) -> dict:
        request = urllib.request.Request(server.url + path, data=json.dumps(body).encode())
        with urllib.request.urlopen(request, timeout=PATIENCE) as answer:
            return json.loads(answer.read())

    try:
        number = post("api/jobs", {"part": "club badge"})["number"]
        post(f"api/jobs/{number}/entries/step", {"title": "Plate nickel", "target": "5 A.min"})
        kept = post(f"api/jobs/{number}/entries/reading", {"current": "1.5 A"})
    finally:
        server.kill()  # SIGKILL, as if the terminal were closed or the power went
    shown = json.loads(command(journal, "job", "show", number, "--json"))
    assert shown["last"] == kept["entry"]
    assert shown["runs"][0]["current"] == 1.5
    assert "whole" in command(journal, "job", "check")
