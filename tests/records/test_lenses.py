"""Lenses in the record: the last check counts, and each camera has a name of its own."""

from typing import Any

import pytest

from areakit.errors import InputError
from areakit.imaging.lens import CameraKey
from areakit.records.entries import kept
from areakit.records.event import Event, make_event
from areakit.records.lenses import LensChecked, fold, key_text

KEY = CameraKey(camera="Testwerk Model 1", width_px=4032, height_px=3024, focal_35mm=26.0)


def body(**more: Any) -> dict[str, Any]:
    covariance = [[float(i == j) * (i + 1) * 1e-6 for j in range(8)] for i in range(8)]
    given: dict[str, Any] = {
        "camera": KEY.camera, "width_px": 4032, "height_px": 3024, "focal_35mm": 26.0,
        "mean": [0.01 * i for i in range(8)], "covariance": covariance, "spread": [0.001 * i for i in range(8)],
        "photos": 10, "names": ["a.jpg", "b.jpg"], "sheet": "A4-r1", "rms_px": 0.06, "print_ratio": 0.001,
        "date": "2026-03-14",
    }  # fmt: skip
    return {**given, **more}


def events(*docs: tuple[str, str, dict[str, Any]]) -> list[Event]:
    history: list[Event] = []
    for number, (kind, who, doc) in enumerate(docs):
        history.append(
            make_event(
                before=history[-1] if history else None, id=str(number), subject="check", key="lens",
                at="2026-03-14T09:00:00Z", who=who, kind=kind, doc=doc,
            )
        )  # fmt: skip
    return history


def test_the_last_check_of_a_lens_counts_and_all_are_counted() -> None:
    new = body(mean=[0.02] * 8, photos=12, date="2026-05-01", sheet="A4-r2", rms_px=0.05, print_ratio=-0.002)
    found = fold(
        events(
            ("lens-checked", "Ana", body()),
            ("lens-checked", "Di", body(photos=9)),
            ("lens-checked", "Bo", new),
            ("remarked", "Cy", {"text": "kept in the drawer"}),
        )
    )
    assert found is not None
    assert (found.who, found.checks, found.sheet, found.rms_px, found.print_ratio) == ("Bo", 3, "A4-r2", 0.05, -0.002)
    assert found.lens.key == KEY
    assert (found.lens.mean, found.lens.photos, found.lens.date) == ((0.02,) * 8, 12, "2026-05-01")
    assert found.lens.covariance[7] == (0.0,) * 7 + (8e-6,)
    assert found.spread == tuple(0.001 * i for i in range(8))


def test_without_a_check_there_is_no_lens() -> None:
    assert fold(events(("remarked", "Ana", {"text": "none yet"}))) is None


def test_cameras_that_begin_alike_have_names_of_their_own() -> None:
    """The journal takes names of up to 80 letters."""
    long = "Testwerk Model 1 with a very long name that does not fit any label"
    keys = [CameraKey(camera=long, width_px=4032, height_px=3024, focal_35mm=focal) for focal in (26.0, 52.0)]
    names = [key_text(key) for key in (KEY, *keys)]
    assert len(set(names)) == 3
    assert all(name.startswith("lens Testwerk Model 1") and len(name) <= 80 for name in names)
    assert key_text(KEY) == names[0]


@pytest.mark.parametrize(
    "wrong",
    [{"width_px": 199}, {"focal_35mm": 0.0}, {"mean": [0.0] * 7}, {"covariance": [[0.0] * 8] * 7}, {"photos": 1},
     {"rms_px": -0.1}, {"date": "yesterday"}, {"sheet": ""}],
)  # fmt: skip
def test_a_check_with_an_impossible_figure_is_refused(wrong: dict[str, Any]) -> None:
    assert kept(LensChecked, body(), "lens")["photos"] == 10
    assert kept(LensChecked, body(width_px=200, height_px=200, photos=2, rms_px=0.0), "lens")["width_px"] == 200
    with pytest.raises(InputError, match=next(iter(wrong))):
        kept(LensChecked, body(**wrong), "lens")
