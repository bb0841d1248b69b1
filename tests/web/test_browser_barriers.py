"""No barrier that axe-core finds, in light and dark, with everything open; and no word of the command line."""

from __future__ import annotations

import ast
import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest
from bench_page import PHOTO, ROOT, drop, open_job, opened, plan, set_part, unfold

from areakit.cli.main import COMMANDS

STARTING = {"doctor", "server", "app", "certificate"}
"""Modules whose words are read where commands are typed: those of a server that starts, and of the doctor."""
STATIC = ROOT / "areakit" / "web" / "static"
pytestmark = [pytest.mark.browser, pytest.mark.thorough, pytest.mark.timeout(240)]


@pytest.fixture(scope="module")
def axe(tmp_path_factory: pytest.TempPathFactory) -> str:
    """The source of axe-core (MPL-2.0), fetched for this test only."""
    if shutil.which("npm") is None:
        pytest.skip("npm is not installed, so axe-core cannot be fetched")
    folder = tmp_path_factory.mktemp("axe")
    try:
        done = subprocess.run(["npm", "pack", "axe-core@4", "--silent"], cwd=folder, capture_output=True, timeout=60)
    except subprocess.TimeoutExpired:
        pytest.skip("axe-core could not be fetched in a minute")
    packs = list(folder.glob("*.tgz"))
    if done.returncode or not packs:
        pytest.skip("axe-core could not be fetched from the registry")
    import tarfile

    with tarfile.open(packs[0]) as pack:
        source = pack.extractfile("package/axe.min.js")
        assert source is not None
        return source.read().decode()


def test_no_barrier_is_found_in_the_light(browser: Any, here: str, said: list[str], axe: str, tmp_path: Path) -> None:
    page = opened(browser, here, said, (1400, 900), color_scheme="light")
    faults = found_faults(page, axe)
    everything_open(page)
    page.screenshot(path=str(tmp_path / "open.png"), full_page=True)
    assert faults + found_faults(page, axe) == []


def test_no_barrier_is_found_in_the_dark_and_in_a_run(
    browser: Any, here: str, said: list[str], axe: str, tmp_path: Path
) -> None:
    page = opened(browser, here, said, (360, 740), color_scheme="dark")
    everything_open(page)
    page.locator("#mend-start").click()
    page.locator("[data-mend=keep]").click()
    faults = found_faults(page, axe)
    page.get_by_role("button", name="Cancel").click()
    page.locator("[data-mend=done]").click()
    page.screenshot(path=str(tmp_path / "open.png"), full_page=True)
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    page.locator("#begin").click()
    page.locator("#panel[open]").wait_for()
    page.locator("#current").fill("400")
    page.locator("#set-current").click()
    page.locator("#panel[data-reached=yes]").wait_for()
    assert faults + found_faults(page, axe) == []


def everything_open(page: Any) -> None:
    drop(page, PHOTO)
    set_part(page)
    page.get_by_label("Footprint, across").fill("20 x 15")
    plan(page)
    open_job(page)
    for title in ("Scale", "Part", "Plan", "Price", "Check somebody's figures"):
        unfold(page, title)
    page.evaluate("for (const fold of document.querySelectorAll('main details')) fold.open = true")
    page.locator(".strokes").wait_for()
    page.locator(".drawn.map img").wait_for()


def found_faults(page: Any, axe: str) -> list[str]:
    page.evaluate(axe + "; 0")
    tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
    result = page.evaluate("tags => axe.run(document, { runOnly: { type: 'tag', values: tags } })", tags)
    return [f"{one['id']}: {node['html'][:160]}" for one in result["violations"] for node in one["nodes"]]


def texts_for_people() -> list[str]:
    """Every message and remedy that the source holds, with a word in place of each figure."""
    found = []
    for path in sorted((ROOT / "areakit").rglob("*.py")):
        if path.parts[-2] in {"cli", "synthetic"} or path.stem in STARTING:
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.keyword) and node.arg in {"remedy", "message"}:
                found.append(words_of(node.value))
            if isinstance(node, ast.Call) and any(one.arg == "remedy" for one in node.keywords):
                found += [words_of(one) for one in node.args]
            if isinstance(node, ast.Tuple) and path.name == "flags.py":
                found += [words_of(one) for one in node.elts]
    return [text for text in found if text]


def words_of(node: ast.expr) -> str:
    if isinstance(node, ast.Constant):
        return node.value if isinstance(node.value, str) else ""
    if isinstance(node, ast.JoinedStr):
        return "".join(one.value if isinstance(one, ast.Constant) else "gold" for one in node.values)
    return ""


def test_no_remedy_speaks_of_the_command_line_itself() -> None:
    texts = texts_for_people()
    assert len(texts) > 700, "the texts of the source are found"
    typed = re.compile(rf"--[a-z]|\bareakit ({'|'.join(set(COMMANDS) - {'serve'})})\b")
    assert [text for text in texts if typed.search(text)] == []


def test_the_page_adds_its_own_name_to_a_remedy(browser: Any, here: str, said: list[str]) -> None:
    page = opened(browser, here, said)
    script = """async told => {
      const words = document.createElement('p');
      words.append(...(await import('/static/places.js')).todo(told).filter(Boolean));
      return words.textContent;
    }"""
    for fields, words in (
        ({"thickness": "1.2 mm"}, "Do it. See “Thickness” in step 2, such as 1.2 mm."),
        ({"layer.gold": "0.5 um"}, "Do it. See “Thickness” in step 3 for gold, such as 0.5 um."),
        ({"hole": "1,2", "metal": "1,2"}, "Do it. See the question beside the picture."),
        ({"areakit job check": ""}, "Do it."),
        ({}, "Do it."),
    ):
        assert page.evaluate(script, {"remedy": "Do it.", "fields": fields}) == words


def test_the_places_that_remedies_name_are_on_the_page() -> None:
    sources = [*STATIC.glob("*.js"), *STATIC.glob("*.html")]
    files = {path.name: path.read_text(encoding="utf-8") for path in sources}
    rest = "".join(text for name, text in files.items() if name != "places.js")
    named = re.findall("“([^”]+)”", files["places.js"])
    assert len(named) > 25
    assert [name for name in named if not re.search(f'["`>]{re.escape(name)}', rest)] == []
