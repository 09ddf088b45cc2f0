"""The small pictures of scenes: they show the number that the scene claims, in letters that can be read."""

import re
from xml.etree import ElementTree

import pytest

from lubberline.publish.figures.scene_pictures import picture_of
from lubberline.simulation.scenes import library, scene_from_text, scene_named

# The narrowest that a page shows a picture, in CSS pixels, and the smallest letters on any page.
NARROWEST_PX, SMALLEST_PX = 104.0, 11.0


def texts(svg: str) -> list[str]:
    return [one.text or "" for one in ElementTree.fromstring(svg).iter() if one.tag.endswith("text")]


@pytest.mark.parametrize(
    ("id", "claim", "at_s", "decimals"),
    [
        ("bank_and_card", "shown.error_deg", 14.5, 1),
        ("compass_acceleration", "shown.compass_error_deg", 20.0, 0),
        ("precession_by_touch", "gyro.tilt_deg", 26.0, 0),
        ("regulator_set_low", "shown.gauge_inhg", 52.0, 1),
        ("setting_in_a_turn", "shown.error_deg", 39.0, 0),
    ],
)
def test_a_picture_shows_what_the_scene_claims(id: str, claim: str, at_s: float, decimals: int) -> None:
    scene = scene_named(id)
    claimed = next(one for one in scene.entry.claim if one.name == claim and one.at_s == at_s)
    found = [
        float(text.replace("−", "-").rstrip("°").replace("+", ""))
        for text in texts(picture_of(scene))
        if re.fullmatch(r"[+−]?[\d.]+°?", text)
    ]
    slack = 0.5 * 10.0**-decimals
    assert any(claimed.low - slack <= one <= claimed.high + slack for one in found), found


@pytest.mark.parametrize("id", ["rigidity", pytest.param("", marks=pytest.mark.acceptance)])
def test_every_picture_is_drawn_and_can_be_read(id: str) -> None:
    for scene in [scene_named(id)] if id else library().values():
        svg = picture_of(scene)
        sizes = [float(size) for size in re.findall(r'font-size="([\d.]+)"', svg)]
        side = float(svg.split('viewBox="')[1].split('"')[0].split()[2])
        assert min(sizes) * NARROWEST_PX / side >= SMALLEST_PX, scene.entry.id
        assert texts(svg)
        assert "nan" not in svg


@pytest.mark.parametrize(
    ("more", "shown"),
    [
        # Set to 020 on 356 magnetic, and set right later: in between it tells most.
        (
            'length_s = 40.0\n[[event]]\nat_s = 10.0\ndo = { do = "set", to_deg = 20.0 }\n'
            '[[event]]\nat_s = 30.0\ndo = { do = "set", from = "truth" }\n',
            "+24°",
        ),
        ("length_s = 0.0\n", "0.0°"),
    ],
    ids=["set wrong for a while", "no time at all"],
)
def test_a_scene_that_claims_nothing_is_drawn_at_the_moment_that_tells_most(more: str, shown: str) -> None:
    scene = scene_from_text("own.toml", f'id = "own"\ntitle = "Own"\naim = "To see"\nwatch = "It"\n{more}')
    assert shown in texts(picture_of(scene))
