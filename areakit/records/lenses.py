"""Stored lenses: what a lens check found, one after the other for each camera."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

from areakit.imaging.lens import NAMES, CameraKey, Lens
from areakit.records.entries import Date, Name, Text
from areakit.records.event import Event

KEY_START = "lens "
"""How the names of lenses begin among the checks in the journal."""
Eight = Annotated[list[float], Field(min_length=len(NAMES), max_length=len(NAMES))]


class LensChecked(BaseModel):
    """One lens with its covariance and its spread from shot to shot; figures in the order of ``lens.NAMES``."""

    model_config = ConfigDict(extra="forbid", strict=True)
    camera: Name
    width_px: Annotated[int, Field(ge=200)]
    height_px: Annotated[int, Field(ge=200)]
    focal_35mm: Annotated[float, Field(gt=0)]
    mean: Eight
    covariance: Annotated[list[Eight], Field(min_length=len(NAMES), max_length=len(NAMES))]
    spread: Eight
    photos: Annotated[int, Field(ge=2)]
    names: list[Name]
    sheet: Name
    rms_px: Annotated[float, Field(ge=0)]
    print_ratio: float
    date: Date
    remarks: Text = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredLens:
    """The last check of one camera's lens: the lens, its spread from shot to shot, sheet, residual, who did it."""

    lens: Lens
    spread: tuple[float, ...]
    sheet: str
    rms_px: float
    print_ratio: float
    who: str
    checks: int


def key_text(key: CameraKey) -> str:
    """Return the name under which a camera's lens is kept: its facts, cut to fit, and a digest of all of them."""
    whole = str(key)
    return f"{KEY_START}{whole[:60]} {hashlib.sha256(whole.encode()).hexdigest()[:8]}"


def fold(events: Iterable[Event]) -> StoredLens | None:
    """Return the last check of a lens, or None where there is none."""
    found = [event for event in events if event.kind == "lens-checked"]
    if not found:
        return None
    doc = found[-1].doc
    key = CameraKey(
        camera=doc["camera"], width_px=doc["width_px"], height_px=doc["height_px"], focal_35mm=doc["focal_35mm"]
    )
    lens = Lens(
        key=key,
        mean=tuple(doc["mean"]),
        covariance=tuple(map(tuple, doc["covariance"])),
        photos=doc["photos"],
        date=doc["date"],
    )
    return StoredLens(
        lens=lens,
        spread=tuple(doc["spread"]),
        sheet=doc["sheet"],
        rms_px=doc["rms_px"],
        print_ratio=doc["print_ratio"],
        who=found[-1].who,
        checks=len(found),
    )
