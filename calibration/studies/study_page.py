"""What studies that draw scenes and print one page share: their options, and where the page goes."""

from __future__ import annotations

import argparse
from pathlib import Path


def options_of(doc: str | None, *, count: str = "scenes", default: int, first: int | None = None) -> argparse.Namespace:
    """Return how many scenes (``--scenes``, or as ``count`` says) from which seed on (``--first``), and ``--out``."""
    parser = argparse.ArgumentParser(description=doc)
    parser.add_argument(f"--{count}", type=int, default=default)
    if first is not None:
        parser.add_argument("--first", type=int, default=first)
    parser.add_argument("--out", type=Path)
    return parser.parse_args()


def show(page: str, out: Path | None) -> None:
    """Print a page, and write it where asked."""
    print(page)
    if out:
        out.write_text(page, encoding="utf-8")
