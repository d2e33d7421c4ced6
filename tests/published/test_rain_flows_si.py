"""Rain on a roof in litres: AS/NZS 3500.3 (quoted by another, recomputed) and MGMA GD03, 2018 (read in the source)."""

from __future__ import annotations

import pytest

from baybook.water import flow_gpm

L_S_PER_GPM = 0.0630902


@pytest.mark.parametrize(("area_m2", "mm_per_h", "l_s"), [(175, 145, 7.05), (143, 330, 13.1)])
def test_as_nzs_3500_3(area_m2, mm_per_h, l_s):
    flow = flow_gpm(mm_per_h / 25.4, area_m2 / 0.3048**2) * L_S_PER_GPM
    assert flow == pytest.approx(l_s, rel=1e-3)  # printed to three figures


def test_mgma_gd03():
    # 150 mm/h = 0.042 L/s/m2
    assert round(flow_gpm(150 / 25.4, 1 / 0.3048**2) * L_S_PER_GPM, 3) == 0.042
