"""The card of a tank says the amperes of every load: a load of fewer pieces takes less current."""

import pytest

from areakit.reports.card import make_card
from areakit.service.plan import PlanRequest, plan


@pytest.mark.parametrize(
    ("pieces", "rack", "loads"),
    [
        (5, 4, "3 on the rack, then 2 at 0.48 A"),  # 12 cm2 at 2 A/dm2 are 0.24 A a piece
        (8, 4, "4 on the rack, 2 loads"),
        (7, 3, "3 on the rack, then 2 at 0.48 A, 2 loads"),
        (1, 4, "1 on the rack"),
    ],
)
def test_each_load_has_its_current(pieces: int, rack: int, loads: str) -> None:
    made = plan(
        PlanRequest(
            process="nickel-tank",
            layers={"nickel": "10 um"},
            area="12 cm2",
            pieces=pieces,
            pieces_per_load=rack,
            base="brass",
            current_density={"nickel": "2 A/dm2"},
        )
    )
    card = make_card([made], name="tags")
    (run,) = [run for step in card.steps for run in step.runs]
    assert run.loads == loads
