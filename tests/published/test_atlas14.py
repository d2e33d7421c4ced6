"""NOAA Atlas 14, point precipitation frequency estimates; US government data, public domain.

``atlas14_39N_105W.csv`` is a download in its real layout: Volume 8 Version 2, 39.0 N 105.0 W, partial duration,
intensity, inches an hour; durations over 24 hours left out.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from baybook.water import parse_atlas14

FILE = Path(__file__).with_name("atlas14_39N_105W.csv")
TEXT = FILE.read_text(encoding="utf-8")

# the same point in millimetres an hour, as an importer's documentation prints the download (quoted by another)
METRIC = """\
Point precipitation frequency estimates (millimeters/hour)
NOAA Atlas 14 Volume 8 Version 2
Data type: Precipitation intensity
Time series type: Partial duration
Project area: Midwestern States
Location name (ESRI Maps): None
Station Name: None
Latitude: 39.0 Degree
Longitude: -105.0 Degree
Elevation (USGS): None None


PRECIPITATION FREQUENCY ESTIMATES
by duration for ARI (years):, 1,2,5,10,25,50,100,200,500,1000
5-min:, 73,88,116,140,176,205,237,270,316,353
10-min:, 53,65,85,103,129,150,173,198,231,259
15-min:, 43,53,69,83,105,122,141,161,188,210
30-min:, 28,35,45,55,69,80,92,105,123,137
60-min:, 18,21,27,32,40,48,55,64,76,85
2-hr:, 10,12,15,18,23,28,32,37,45,51
3-hr:, 8,9,11,13,17,20,24,28,33,38
6-hr:, 5,6,7,8,10,12,15,17,21,24
12-hr:, 3,4,4,5,7,8,9,11,13,15
24-hr:, 2,2,3,3,4,5,6,7,8,9
"""

# a depth download, Volume 9, 26.6 N 81.9 W, some of its rows (quoted by another)
DEPTH = """\
Point precipitation frequency estimates (inches)
NOAA Atlas 14 Volume 9 Version 2
Data type: Precipitation depth
Time series type: Partial duration
Project area: Southeastern States
Location name (ESRI Maps): None
Station Name: None
Latitude: 26.6 Degree
Longitude: -81.9 Degree
Elevation (USGS): None None


PRECIPITATION FREQUENCY ESTIMATES
by duration for ARI (years):, 1,2,5,10,25,50,100,200,500,1000
5-min:, 0.553,0.620,0.731,0.822,0.950,1.05,1.15,1.25,1.38,1.48
60-min:, 2.14,2.38,2.79,3.13,3.62,4.00,4.38,4.78,5.32,5.74
2-hr:, 2.69,2.98,3.47,3.90,4.49,4.97,5.46,5.97,6.66,7.20
24-hr:, 4.01,4.76,6.09,7.28,9.05,10.5,12.1,13.7,16.1,18.0
60-day:, 21.0,23.3,26.6,29.2,32.4,34.6,36.6,38.3,40.3,41.5

Date/time (GMT):  Sun Jun  7 07:54:20 2026
"""


def test_head():
    rain = parse_atlas14(TEXT, FILE.name)
    assert rain.volume == "NOAA Atlas 14 Volume 8 Version 2"
    assert (rain.data_type, rain.unit, rain.series) == ("intensity", "in", "Partial duration")
    assert (rain.latitude, rain.longitude) == (39.0, -105.0)
    assert rain.durations_min == (5, 10, 15, 30, 60, 120, 180, 360, 720, 1440)
    assert rain.aris_years == (1, 2, 5, 10, 25, 50, 100, 200, 500, 1000)
    assert len(rain.values) == 100


@pytest.mark.parametrize(
    ("duration", "ari", "printed"), [(5, 10, 5.52), (5, 100, 9.31), (60, 10, 1.26), (60, 100, 2.18)]
)
def test_colorado(duration, ari, printed):
    assert parse_atlas14(TEXT, FILE.name).intensity(duration, ari) == printed


def test_five_and_sixty_minutes_differ_by_four():
    rain = parse_atlas14(TEXT, FILE.name)
    for ari in (10, 100):
        assert 4 < rain.intensity(5, ari) / rain.intensity(60, ari) < 4.5


@pytest.mark.parametrize(
    ("duration", "ari", "printed"), [(5, 10, 6.90), (5, 100, 9.47), (60, 10, 2.20), (60, 100, 3.34)]
)
def test_deep_gap_north_carolina(duration, ari, printed):
    # Volume 2, the four numbers read in the source; the layout of the other point's file
    text = (
        "Point precipitation frequency estimates (inches/hour)\nNOAA Atlas 14 Volume 2 Version 3\n"
        "Data type: Precipitation intensity\nTime series type: Partial duration\nLocation name: Deep Gap NC\n"
        "Latitude: 36.2 Degree\nLongitude: -81.5 Degree\n\n\nPRECIPITATION FREQUENCY ESTIMATES\n"
        "by duration for ARI (years):, 10,100\n5-min:, 6.90,9.47\n60-min:, 2.20,3.34\n"
    )
    assert parse_atlas14(text).intensity(duration, ari) == printed


def test_millimetres_of_the_same_point_agree():
    inches, millimetres = parse_atlas14(TEXT), parse_atlas14(METRIC)
    assert millimetres.unit == "mm"
    assert inches.values.keys() == millimetres.values.keys()
    for duration, ari in inches.values:
        # whole millimetres, and inches to three figures: within 0.6 mm/h and 0.5 %
        ours, theirs = inches.intensity(duration, ari) * 25.4, millimetres.intensity(duration, ari) * 25.4
        assert abs(ours - theirs) <= 0.6 + 0.005 * ours, (duration, ari)


def test_depth_becomes_intensity():
    rain = parse_atlas14(DEPTH)
    assert rain.data_type == "depth"
    assert rain.intensity(60, 100) == pytest.approx(4.38)
    assert rain.intensity(5, 100) == pytest.approx(1.15 * 12)
    assert rain.intensity(120, 100) == pytest.approx(5.46 / 2)
    assert rain.intensity(60 * 1440, 1000) == pytest.approx(41.5 / 1440)
