"""How long a surface may stand without current (common practice, no source)."""

import pytest

from areakit.plating.process import allowed_pause, rinse_time


@pytest.mark.parametrize(
    ("metal", "kind", "seconds"),
    [
        ("gold", "plate", 300.0), ("nickel", "plate", 60.0), ("chromium", "plate", 5.0), ("brass", "plate", 60.0),
        ("gold", "strike", 30.0), ("nickel", "strike", 30.0), ("chromium", "strike", 5.0),
    ],
)  # fmt: skip
def test_a_strike_bears_less_than_a_layer_of_its_metal_and_chromium_the_least(
    metal: str, kind: str, seconds: float
) -> None:
    assert allowed_pause(metal, kind=kind).value == seconds


def test_a_rinse_takes_two_minutes() -> None:
    assert rinse_time() == 120.0
