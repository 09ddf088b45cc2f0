"""The aircraft file: what is accepted and what is refused, by file and field."""

import contextlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lubberline import InputError
from lubberline.simulation.aircraft import Aircraft, aircraft_from_text, read_aircraft


@pytest.mark.parametrize(
    ("text", "where", "right"),
    [
        ("nam = 'x'", "f, nam", "did you mean 'name'?"),
        ("[compass]\ndeviation_f_deg = 1", "f, compass.deviation_f_deg", "did you mean"),
        ("[suction]\ngauge_tap = 'left'", "f, suction.gauge_tap", "docs/instructors/aircraft.md"),
        ("[heading_indicator]\nreal_wander_deg_15min = 'much'", "f, heading_indicator.real_wander", "docs"),
        (
            "[heading_indicator]\nreal_wander_deg_15min = nan",
            "f, heading_indicator.real_wander",
            "a finite number",
        ),
        ("[[fault]]\nname = 'pumpp'", "f, fault 1", "did you mean 'pump'?"),
        ("[[fault]]\nname = 'pump'\nsize = 3", "f, fault 1", "0 to 1"),
        ("name = ", "f", "correct it"),
    ],
)
def test_wrong_file_is_refused_with_its_place(text: str, where: str, right: str) -> None:
    with pytest.raises(InputError) as caught:
        aircraft_from_text("f", text)
    assert caught.value.where.startswith(where)
    assert right in caught.value.right


def test_missing_binary_and_huge_files(tmp_path) -> None:
    with pytest.raises(InputError, match="No such file"):
        read_aircraft(tmp_path / "none.toml")
    binary = tmp_path / "b.toml"
    binary.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(InputError, match="UTF-8"):
        read_aircraft(binary)
    huge = tmp_path / "h.toml"
    huge.write_bytes(b"#" * 1_000_001)
    with pytest.raises(InputError, match="too large"):
        read_aircraft(huge)


@given(
    st.text(max_size=200)
    | st.from_regex(r"(\[?[a-z_]{1,12}\]?( = [-a-z0-9.\"\[\]]{1,8})?\n){1,6}", fullmatch=True)
)
def test_any_text_gives_an_aircraft_or_a_clear_refusal(text: str) -> None:
    with contextlib.suppress(InputError):
        assert isinstance(aircraft_from_text("f", text), Aircraft)
