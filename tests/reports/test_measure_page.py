"""The report of a measurement with its plan."""

from html import escape

from areakit.reports.measure_page import measure_page
from areakit.service.plan import PlanRequest, plan


def test_the_report_prints_every_caution_of_the_plan() -> None:
    request = PlanRequest(
        process="nickel-gold-brush",
        area="12.5 ± 0.1 cm2",
        layers={"nickel": "3 um", "gold": "0.5 um"},
        efficiency={"gold": "72%"},
    )
    result = plan(request)
    page = measure_page(title="Badge", overlay=b"", parts=[], flags=(), plan=result)
    assert len(result.cautions) > 5
    assert any("hydrogen cyanide" in caution.text for caution in result.cautions)
    for caution in result.cautions:
        assert escape(caution.text) in page, caution.key


def test_tables_scroll_within_a_narrow_page_and_begin_with_the_plated_area() -> None:
    page = measure_page(title="Badge", overlay=b"", parts=[], flags=(), plan=None)
    assert page.count("<table>") == page.count('<div class="scroll" tabindex="0"><table>') > 0
    assert "<th>part</th><th>plated</th>" in page
