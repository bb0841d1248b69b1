"""Drawn wires: a dull flank is found within the constant, a polished one is not; it is covered where nobody said it."""

from pathlib import Path

import numpy as np
import pytest

from areakit.geometry.forms.table import FLANK_PX
from calibration.studies.flanks import METALS, is_held, skin, table, wire


@pytest.mark.thorough
def test_a_dull_flank_is_found_within_the_constant_and_a_polished_one_beyond_it() -> None:
    rng = np.random.default_rng(3)
    dull, polished = wire(rng, "dull", "copper"), wire(rng, "polished", "steel")
    assert dull.inside_px is not None
    assert polished.inside_px is not None
    assert -0.2 < dull.inside_px < FLANK_PX < polished.inside_px
    assert is_held(dull, dull=True)
    assert not is_held(polished, dull=True)
    assert is_held(polished, dull=False)
    assert "| dull | 1 | 0 |" in "\n".join(table([dull, polished]))


@pytest.mark.parametrize("mirror", [0.0, 1.0])
def test_skin_that_looks_up_has_the_light_of_a_flat_face_and_skin_that_leans_over_that_of_the_sheet(
    mirror: float,
) -> None:
    normals = np.array([[0.0, 0.0, 1.0], [0.8, 0.0, 0.6]])
    metal, sheet = np.array(METALS["steel"]), np.array([0.05, 0.18, 0.5])
    flat, leaning = skin(normals, np.array([0.0, 1.0]), metal=metal, sheet=sheet, mirror=mirror, shade=0.0)
    assert flat == pytest.approx(metal * (1.0 if mirror == 0.0 else 0.6))
    if mirror:
        assert leaning == pytest.approx(metal * sheet)


def test_the_kept_study_bears_out_the_constant() -> None:
    text = (Path(__file__).resolve().parents[1] / "calibration/studies/flanks_results.md").read_text(encoding="utf-8")
    rows = {cells[1]: cells for line in text.splitlines() if len(cells := [one.strip() for one in line.split("|")]) > 7}
    assert 0.0 < float(rows["dull"][4].split()[0]) < FLANK_PX / 2.0
    assert float(rows["dull"][5].split()[2]) < FLANK_PX
    assert float(rows["polished"][4].split()[0]) > FLANK_PX
    assert rows["dull"][6] == "100 %"
    assert float(rows["polished"][6].split()[0]) < 50.0 < 92.0 <= float(rows["polished"][7].split()[0])
