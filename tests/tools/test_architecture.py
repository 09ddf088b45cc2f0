"""The picture of the rooms and their table are those of the imports."""

from tools.write import architecture


def test_the_picture_and_the_table_are_of_today() -> None:
    uses = architecture.rooms()
    assert architecture.PICTURE.read_text(encoding="utf-8") == architecture.picture(uses), "run it again"
    assert architecture.DOCUMENT.read_text(encoding="utf-8") == architecture.page(), "run it again"


def test_arrows_of_the_picture_lead_to_everything_that_is_imported() -> None:
    uses = architecture.rooms()
    arrows = architecture.direct(uses)

    def reached(room: str) -> set[str]:
        return {other for one, other in arrows if one == room} | {
            far for one, other in arrows if one == room for far in reached(other)
        }

    assert all(others <= reached(room) for room, others in uses.items())
    floor = {name: number for number, names in enumerate(architecture.FLOORS) for name in names}
    assert all(floor[room] < floor[other] for room, other in arrows)
