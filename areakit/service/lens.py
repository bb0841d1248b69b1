"""Check the lens of a camera by photos of one printed sheet, and keep what was found for its next photos."""

from __future__ import annotations

import logging
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from areakit.errors import AreakitError, InputError, MarkNotFound, MeasurementError
from areakit.imaging.camera import usual_prior
from areakit.imaging.lens import CameraKey, Lens, camera_key, turn_of
from areakit.imaging.lens_fit import FEWEST_PHOTOS, FittedLens, LensView, fit_lens
from areakit.imaging.marks.frame import frame_corners
from areakit.imaging.photo import overview, read_photo
from areakit.imaging.scale import CheckReading
from areakit.plural import counted
from areakit.records import lenses
from areakit.records.codec import picked
from areakit.records.entries import kept
from areakit.records.journal import Journal, begun
from areakit.records.lenses import StoredLens
from areakit.service.desk import Desk

logger = logging.getLogger(__name__)

FEWEST_CORNERS = 40
"""Corners of the ring that a photo must show to count."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LensCheck:
    """What a check found, and which photos were left out and why."""

    fitted: FittedLens
    sheet: str
    used: tuple[str, ...]
    left_out: tuple[tuple[str, AreakitError], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Seen:
    view: LensView
    key: CameraKey
    sheet: str


def check_lens(paths: Sequence[Path], *, reading: CheckReading | None = None) -> LensCheck:
    """Fit one lens to photos of one printed sheet by one camera.

    InputError if the photos do not say their camera, or are not of one camera or of one sheet; MeasurementError if too
    few can be used, they disagree, or they do not fix the lens.

    Parameters
    ----------
    paths : sequence of Path
    reading : CheckReading or None
        The sheet's check lengths, where they were measured: they fix the ratio of its two scales.
    """
    seen, left_out = [], []
    for path in paths:
        try:
            seen.append(_seen(path, reading))
        except MeasurementError as error:
            left_out.append((path.name, error))
    if len(seen) < FEWEST_PHOTOS:
        named = "".join(f" {name}: {error.message}" for name, error in left_out[:3])
        raise MeasurementError(
            f"{counted(len(seen), 'photo')} of a printed sheet can be used; {FEWEST_PHOTOS} to 12 are needed.{named}",
            remedy="Take more photos of one printed sheet with the same phone and lens, the whole marker frame in "
            "view.",
            code="TOO_FEW_PHOTOS",
        )
    _check_one({one.key: one.view.name for one in seen}, {one.sheet: one.view.name for one in seen})
    ratio = None
    if reading is not None:
        ratio = float(np.linalg.norm([reading.uncertainty_mm / length for length in reading.read_mm]))
    fitted = fit_lens([one.view for one in seen], seen[0].key, ratio_sigma=ratio)
    logger.info("lens of %s from %d photos", seen[0].key, len(seen))
    return LensCheck(
        fitted=fitted,
        sheet=seen[0].sheet,
        used=tuple(one.view.name for one in seen),
        left_out=tuple(left_out),
    )


def _seen(path: Path, reading: CheckReading | None) -> _Seen:
    photo = read_photo(path, name=path.name)
    key = camera_key(photo)
    if key is None or photo.focal_px is None:
        raise InputError(
            f"{path.name} does not say which camera and lens took it.",
            remedy="Use the original files as the phone wrote them: no messenger, no editor, no digital zoom.",
        )
    turn = turn_of(photo)
    if np.linalg.det(turn) < 0:
        raise InputError(
            f"{path.name} is mirrored.", remedy="Turn off mirroring of the front camera, or use the main camera."
        )
    prior = usual_prior(photo.width_px, photo.height_px, photo.focal_px)
    corners = frame_corners(photo, overview(photo), prior, reading)
    if corners is None or len(corners.points_px) < FEWEST_CORNERS:
        raise MarkNotFound(
            f"only {0 if corners is None else len(corners.points_px)} corners of a printed marker frame can be read.",
            remedy="Keep the whole marker frame in view, in focus and evenly lit.",
        )
    upright = (np.array([photo.width_px, photo.height_px]) - 1) / 2
    stored = (np.array([key.width_px, key.height_px]) - 1) / 2
    view = LensView(
        name=path.name,
        nodes_mm=corners.nodes_mm,
        points_px=(corners.points_px - upright) @ turn + stored,  # rows, so this is the turn taken back
        focal_px=photo.focal_px,
    )
    return _Seen(view=view, key=key, sheet=corners.layout.code)


def _check_one(keys: dict[CameraKey, str], sheets: dict[str, str]) -> None:
    if len(keys) > 1:
        (first, a), (second, b), *_ = keys.items()
        raise InputError(
            f"The photos are not of one camera: {a} is by {first}; {b} by {second}.",
            remedy="Check one camera, lens and picture size at a time.",
        )
    if len(sheets) > 1:
        raise InputError(
            f"The photos show different sheets: {' and '.join(sorted(sheets))}.",
            remedy="Use one sheet copy for all photos.",
        )


def keep_lens(desk: Desk, found: LensCheck) -> StoredLens:
    """Keep a checked lens in the journal, dated today, and return it as it will be used."""
    fitted = found.fitted
    lens = fitted.lens
    doc = kept(
        lenses.LensChecked,
        {
            **picked(lens.key, "camera", "width_px", "height_px"),
            "focal_35mm": float(lens.key.focal_35mm),
            "mean": list(lens.mean),
            "covariance": [list(row) for row in lens.covariance],
            "spread": fitted.spread.tolist(),
            "photos": lens.photos,
            "names": list(found.used),
            "sheet": found.sheet,
            "rms_px": float(np.sqrt(np.mean(np.square(fitted.rms_px)))),
            "print_ratio": fitted.print_ratio,
            "date": desk.today,
        },
        "lens",
    )
    key = lenses.key_text(lens.key)
    with desk.to_write() as journal:
        journal.append("check", key, "lens-checked", at=desk.at, who=desk.who, doc=doc)
        stored = lenses.fold(journal.history("check", key))
    assert stored is not None
    return stored


def list_lenses(desk: Desk) -> tuple[StoredLens, ...]:
    """Return the last check of every camera's lens."""
    with desk.to_read() as journal:
        return _lenses(journal)


def _lenses(journal: Journal) -> tuple[StoredLens, ...]:
    found = (lenses.fold(journal.history("check", key)) for key in journal.keys_starting("check", lenses.KEY_START))
    return tuple(one for one in found if one is not None)


def stored_lenses(desk: Desk) -> tuple[Lens, ...]:
    """Return every stored lens; none where there is no journal yet."""
    opened = begun(desk.path)
    if opened is None:
        return ()
    with opened as journal:
        return tuple(one.lens for one in _lenses(journal))
