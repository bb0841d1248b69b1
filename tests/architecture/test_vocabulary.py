"""One word for each idea in what users read: texts of package, page and data, README, tour, notes on changes."""

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
INSTEAD = {
    r"unless said": "default",
    r"\bmends? it\b|\bto mend\b": "how to fix it",
    r"what moves it": "main sources of ±",
    r"mean to aim at": "target mean",
    r"\brests on\b": "is based on",
    r"\bjudgement\b": "estimate",
    r"\bsure(r|ness)\b": "more certain, confidence",
    r"\bpx soft\b": "blurred over 4 px",
    r"\bno like\b": "no match",
    r"\w\(s\)(?!\w)": "a real plural",
    r"\b(a|steel) rule\b(?! of)|(?<!fill-)\brule:": "ruler",
    r"(?i)sidewall": "side wall",
    r"\b(whole|printed|all of the|scale from) ring\b|\bring (of mark|in view)": "marker frame",
    r"(?<!house )(?<!`)\bwindows?\b(?! that the server runs in)(?!\.)": "field of a sheet, range of figures",
    r"(?<!at )(?<!At )(?<!at the )\b[Ll]east\b(?! [=:0-9])": "minimum, smallest",
    r"\b(the|this|[Aa]|each|[Ww]hich|one|bottle or) prints?\b|--print\b|print-check": "sheet copy",
    r"\b(all|faces|or) foil\b|\bcarrier\b|\bglue": "front-and-edges, laminate",
    r"(?<!food )\b[Cc]ontact (of|size|patch|has|area)\b|--contact\b(?!-f)|(your|the) contact\b(?! f)": "footprint",
    r"(?i)\bcaution: [a-z]|with a caution|\bMind$": "note, unless it is a hazard",
}


def _in_python(source: str) -> Iterator[str]:
    """Yield the texts of a module: its strings, without docstrings and without words that stand alone."""
    tree = ast.parse(source)
    bare = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in bare:
            yield node.value


def _in_page(source: str) -> Iterator[str]:
    for line in source.splitlines():
        yield re.sub(r'\b(class|id|d)="[^"]*"', "", line)


def _in_script(source: str) -> Iterator[str]:
    """Yield the quoted texts of a script, what stands in ``${}`` left out."""
    for line in source.splitlines():
        for quoted in re.findall(r'"[^"]*"|`[^`]*`', "" if line.lstrip().startswith(("/*", "//", "*")) else line):
            yield re.sub(r"\$\{[^}]*\}", "{}", quoted[1:-1])


@cache
def _texts(path: Path) -> list[str]:
    source = path.read_text(encoding="utf-8")
    read = {".py": _in_python, ".js": _in_script, ".html": _in_page}.get(path.suffix, str.splitlines)
    return list(read(source))


FILES = [
    *(path for kind in ("py", "js", "html", "toml", "csv") for path in sorted((ROOT / "areakit").rglob(f"*.{kind}"))),
    ROOT / "README.md",
    ROOT / "demo_images" / "tour.md",
    *sorted((ROOT / ".changes").glob("*.md")),
]


@pytest.mark.parametrize(("word", "instead"), INSTEAD.items())
def test_a_word_that_was_given_up_stands_in_no_text(word: str, instead: str) -> None:
    found = [f"{path.relative_to(ROOT)}: {text}" for path in FILES for text in _texts(path) if re.search(word, text)]
    assert not found, f"say {instead}:\n" + "\n".join(found)


def test_texts_are_found_in_code_and_script() -> None:
    assert list(_in_python('def f():\n    """A ring."""\n    return f"the {ring} is a ring"')) == ["the ", " is a ring"]
    assert list(_in_script('const ring = h("b", `a ${ring} it is`);\n/* "a ring" */')) == ["b", "a {} it is"]
