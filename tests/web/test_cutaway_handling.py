"""The cutaway under a pointer and the keys: parts are found, turned, pushed and looked at."""

import pytest

from lubberline.simulation.live.parts import PARTS

pytestmark = pytest.mark.browser

FACE_ON = "probe.draw(probe.shows.level(1), {}, {look: 'card', orbit_deg: 0, height_deg: 0})"


def test_parts_are_picked_where_they_are_seen(drawing):
    drawing.evaluate(FACE_ON)
    card = drawing.evaluate("probe.cutaway.cardOnPicture()")
    pick = "([x, y]) => probe.cutaway.pick(x, y)"
    assert drawing.evaluate(pick, [card["x"], card["y"]]) == "lubber-line", "the aircraft mark on the window"
    assert drawing.evaluate(pick, [card["x"] + 0.8 * card["radius"], card["y"]]) == "card"
    # The knob's middle is 42.9 mm left and down of the card's, which measures 47 mm.
    shift = card["radius"] * 42.9 / 47 * 1.07
    assert drawing.evaluate(pick, [card["x"] - shift, card["y"] + shift]) == "setting-knob"
    assert drawing.evaluate(pick, [5, 5]) is None


def test_every_part_can_be_spoken_of_and_looked_at_by_the_id_that_the_program_reads(drawing):
    assert drawing.evaluate("probe.PARTS") == PARTS
    unseen = drawing.evaluate(
        """ids => ids.filter(id => {
            const view = {showAir: true, showArrows: true, hideCase: false, spoken: id};
            const [near, far] = [probe.bestOf(id), {...probe.bestOf('air'), look: 'whole'}];
            probe.draw(probe.shows.level(1), view, near);
            const close = probe.cutaway.seen(id);
            probe.draw(probe.shows.level(1), view, far);
            return !(close > 0.3 || close > 1.5 * probe.cutaway.seen(id)); })""",
        list(PARTS),
    )
    assert unseen == [], "the eye goes there: the part is large in the picture, or larger than from afar"


def test_a_finger_on_the_card_is_a_torque_until_it_lets_go(drawing):
    drawing.evaluate(FACE_ON)
    card = drawing.evaluate("probe.cutaway.cardOnPicture()")
    drawing.mouse.move(card["x"] + 0.5 * card["radius"], card["y"])
    drawing.mouse.down()
    assert drawing.evaluate("probe.view().held") == "card"
    drawing.mouse.move(card["x"] - 0.5 * card["radius"], card["y"])
    drawing.mouse.up()
    told = [float(word.split()[1]) for word in drawing.evaluate("probe.told")]
    assert told[0] == pytest.approx(0.001, rel=0.05)
    assert min(told) == pytest.approx(-0.001, rel=0.05)
    assert told[-1] == 0
    assert drawing.evaluate("probe.view().held") is None


def test_the_keyboard_does_what_the_pointer_does(drawing):
    drawing.focus("#picture")
    before = drawing.evaluate("probe.camera()")
    drawing.keyboard.press("ArrowRight")
    drawing.keyboard.press("ArrowUp")
    drawing.keyboard.press("+")
    after = drawing.evaluate("probe.camera()")
    assert after["orbit_deg"] > before["orbit_deg"]
    assert after["height_deg"] > before["height_deg"]
    assert after["distance"] < before["distance"]
    drawing.keyboard.down("j")
    drawing.keyboard.up("j")
    drawing.keyboard.press(".")
    assert drawing.evaluate("probe.told") == ["finger -0.001", "finger 0", "knob 1"]


def test_a_drag_beside_the_instrument_orbits_and_the_wheel_zooms(drawing):
    before = drawing.evaluate("probe.camera()")
    drawing.mouse.move(1300, 60)
    drawing.mouse.down()
    drawing.mouse.move(1200, 60, steps=3)
    drawing.mouse.up()
    drawing.mouse.wheel(0, 300)
    drawing.wait_for_timeout(100)
    after = drawing.evaluate("probe.camera()")
    assert after["orbit_deg"] != before["orbit_deg"]
    assert after["distance"] > before["distance"]
    assert drawing.evaluate("probe.told") == []
    drawing.mouse.click(1300, 60)
    assert drawing.evaluate("probe.told") == ["pressed null"]
