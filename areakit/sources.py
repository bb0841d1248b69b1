"""Where each figure comes from: source key to citation and kind."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Literal

Kind = Literal["published", "practice", "unverified"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """One source: ``published`` (a document), ``practice`` (common practice, no source) or ``unverified``."""

    key: str
    kind: Kind
    citation: str


@cache
def all_sources() -> dict[str, Source]:
    """Return every source by its key."""
    text = files("areakit").joinpath("data/sources.toml").read_text(encoding="utf-8")
    return {
        key: Source(key=key, kind=row["kind"], citation=row["citation"]) for key, row in tomllib.loads(text).items()
    }


def source(key: str) -> Source:
    """Return one source; an unknown key is a defect and raises KeyError."""
    return all_sources()[key]
