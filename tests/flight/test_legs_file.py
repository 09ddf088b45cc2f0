"""Legs files that are wrong: refused in one line that names file, leg and key, and says what is right."""

import math
import string

import pytest
from hypothesis import event, given
from hypothesis import strategies as st

from lubberline.errors import InputError
from lubberline.flight.flights import read_flight
from lubberline.flight.legs.file import parse_legs
from lubberline.flight.legs.kinds import KINDS
from lubberline.flight.legs.motion import read_legs_text
from tests.flight.hand_written import HEAD, leg, legs_text, toml

MINUTE = leg("straight", minutes=1)
TURN = leg("turn", by_deg=90)


def refusal(*legs, **head) -> InputError:
    with pytest.raises(InputError) as caught:
        read_legs_text("dawn.toml", legs_text(*legs, **head))
    assert "\n" not in str(caught.value)
    return caught.value


# A leg (after one good leg), the key named, words of what is wrong, words of what would be right.
BAD_LEGS = [
    (leg("turn", by_deg=90, bank_deg=70), "bank_deg", "70.0 deg of bank", "greatest_bank_deg = 60"),
    (leg("turn", by_deg=90, rate_deg_s=25), "rate_deg_s", "deg of bank", "greatest_bank_deg = 60"),
    (leg("accelerate", to_kt=40), "to_kt", "below the stall speed", "at least 48"),
    (leg("accelerate", to_kt=250), "to_kt", "above limit_kt", "at most 200"),
    (leg("accelerate", to_kt=100), "to_kt", "already", "another speed"),
    (leg("straight", minutes=-1), "minutes", "-1", "0.01 to 1440"),
    (leg("straight", minutes=float("nan")), "minutes", "nan", "0.01 to 1440"),
    (leg("straight", minutes=float("inf")), "minutes", "inf", "0.01 to 1440"),
    (leg("straight", minutes=10**400), "minutes", "too large", "0.01 to 1440"),
    (leg("straight", minutes="ten"), "minutes", "'ten'", "0.01 to 1440"),
    (leg("straight", minutes=True), "minutes", "true", "0.01 to 1440"),
    (leg("straight"), "minutes", "missing", "minutes, seconds, distance_nm"),
    (leg("straight", minutes=2, distance_nm=4), "distance_nm", "together with minutes", "only one"),
    (leg("straight", minute=2), "minute", "unknown key", "did you mean 'minutes'?"),
    (leg("turn", minutes=2), "minutes", "unknown key", "allowed: engine_rpm"),
    (leg("turn"), "to_deg", "missing", "to_deg, by_deg"),
    (leg("turn", to_deg=0), "to_deg", "already points there", "by_deg = 360"),
    (leg("turn", by_deg=0), "by_deg", "not a turn", "right positive"),
    (leg("turn", to_deg=400), "to_deg", "400", "0 to 360"),
    (leg("turn", to_deg=90, direction="rigth"), "direction", "'rigth'", "did you mean 'right'?"),
    (leg("turn", by_deg=90, direction="right"), "direction", "together with by_deg", "only one"),
    (leg("turn", by_deg=90, bank_deg=20, rate_deg_s=3), "rate_deg_s", "together", "only one"),
    (leg("turn", by_deg=90, on_ground=True), "on_ground", "too fast", "30 kt"),
    (leg("climb", to_altitude_ft=2000), "to_altitude_ft", "from 3000 ft", "above that"),
    (leg("descend", to_altitude_ft=4000), "to_altitude_ft", "from 3000 ft", "below that"),
    (leg("climb"), "to_altitude_ft", "missing", "feet"),
    (leg("climb", to_altitude_ft=9000, rate_fpm=5500), "rate_fpm", "steeper than 30 deg", "lower"),
    (leg("wait", minutes=1), "", "moves at 100 kt", "to_kt = 0"),
    (leg("upset", bank_deg=100, pitch_deg=20), "pitch_deg", "together", "only one"),
    (leg("upset", bank_deg=0.2), "bank_deg", "not an upset", "positive"),
    (leg("upset", pitch_deg=90), "pitch_deg", "90", "-89 to 89"),
    (leg("rough", level="mild"), "level", "'mild'", "off, light, moderate, severe"),
    (leg("rough", level="sever"), "level", "'sever'", "did you mean 'severe'?"),
    (leg("set", from_="compas"), "from", "'compas'", "did you mean 'compass'?"),
    (leg("set", after_seconds=100), "after_seconds", "past the end", "within"),
    (leg("fault", name="fliter"), "name", "'fliter' is not a fault", "did you mean 'filter'?"),
    (leg("fault", size=1), "name", "missing", "words"),
    (leg("stright", minutes=1), "kind", "'stright'", "did you mean 'straight'?"),
    ({"minutes": 1}, "kind", "missing", "straight, turn"),
    ({"kind": 7}, "kind", "7 is not a kind", "straight, turn"),
    ({"kind": 1 << 4000}, "kind", "a number that is too large is not a kind", "straight, turn"),
    (leg("straight", minutes=1440), "", "passes 24 h", "at most 24 h"),
    (leg("turn", by_deg=36000, rate_deg_s=0.1), "", "passes 24 h", "at most 24 h"),
]


@pytest.mark.parametrize(("bad", "key", "wrong", "right"), BAD_LEGS, ids=lambda value: str(value)[:40])
def test_a_bad_leg_is_named_with_its_key_and_what_is_right(bad, key, wrong, right):
    found = refusal(MINUTE, bad)
    kind = str(bad.get("kind"))
    place = f"dawn.toml, leg 2 ({kind})" if kind in KINDS else "dawn.toml, leg 2"
    assert found.where == (f"{place}, {key}" if key else place)
    assert wrong in found.wrong
    assert right in found.right


BAD_HEADS = [
    ({"latitude_deg": 91}, "latitude_deg", "91", "-89.9 to 89.9"),
    ({"longitude_deg": float("nan")}, "longitude_deg", "nan", "-180 to 180"),
    ({"start_utc": "2026-03-01T12:00:00"}, "start_utc", "without a zone", "with its zone"),
    ({"start_utc": "2026-03-01"}, "start_utc", "2026-03-01", "with its zone"),
    ({"start_utc": "0001-01-01T00:00:00+23:00"}, "start_utc", "year 1", "1900 to 2100"),
    ({"altitud_ft": 3000}, "altitud_ft", "unknown key", "did you mean 'altitude_ft'?"),
    ({"wind_kt": 10}, "wind_from_deg", "missing", "degrees"),
    ({"wind_from_deg": 10}, "wind_kt", "missing", "knots"),
    ({"airspeed_kt": 210}, "airspeed_kt", "above limit_kt", "at most 200"),
    ({"limit_kt": 40, "airspeed_kt": 0}, "limit_kt", "not above stall_kt", "above 48"),
    ({"seed": -1}, "seed", "-1", "whole number"),
    ({"seed": 1.5}, "seed", "1.5", "whole number"),
]


@pytest.mark.parametrize(("head", "key", "wrong", "right"), BAD_HEADS, ids=lambda value: str(value)[:40])
def test_a_bad_head_is_named_with_its_key_and_what_is_right(head, key, wrong, right):
    found = refusal(MINUTE, **head)
    assert found.where == f"dawn.toml, {key}"
    assert wrong in found.wrong
    assert right in found.right


@pytest.mark.parametrize("key", list(HEAD))
def test_each_required_key_is_missed(key):
    text = "\n".join(toml(name, value) for name, value in HEAD.items() if name != key)
    with pytest.raises(InputError) as caught:
        read_legs_text("dawn.toml", text + "\n[[leg]]\nkind='straight'\nminutes=1\n")
    assert caught.value.where == f"dawn.toml, {key}"
    assert caught.value.wrong == "missing"


def test_stall_speed_rises_with_the_load_factor():
    """Stall speed goes with the root of the load factor: at 60 deg 48 x 1.414 = 67.9 kt (any handbook)."""
    steep = leg("turn", by_deg=90, bank_deg=60)
    read_legs_text("x", legs_text(steep, airspeed_kt=68))
    found = refusal(steep, airspeed_kt=67.5)
    assert found.where == "dawn.toml, leg 1 (turn), bank_deg"
    assert "67.9 kt (load factor 2.00)" in found.wrong
    assert "faster" in found.right


def test_slow_flight_must_be_on_the_ground():
    assert "stall" in refusal(leg("straight", minutes=1, on_ground=False), airspeed_kt=20).wrong
    for bad in (leg("climb", to_altitude_ft=5000), leg("upset", bank_deg=100)):
        assert "not flying speed" in refusal(bad, airspeed_kt=20).wrong
    assert refusal(leg("turn", by_deg=9, bank_deg=5), airspeed_kt=20).where.endswith("bank_deg")
    assert "does not move" in refusal(leg("straight", distance_nm=1), airspeed_kt=0).wrong


@pytest.mark.parametrize(("latitude_deg", "heading_deg"), [(89.0, 0), (-89.5, 180)])
def test_a_flight_past_the_greatest_latitude_names_its_leg(latitude_deg, heading_deg):
    found = refusal(MINUTE, leg("straight", minutes=90), latitude_deg=latitude_deg, heading_deg=heading_deg)
    assert found.where == "dawn.toml, leg 2 (straight)"
    assert "89.9" in found.wrong


def test_a_day_is_the_longest_flight():
    motion = read_legs_text("x", legs_text(leg("wait", minutes=1439), leg("wait", minutes=1), airspeed_kt=0))
    assert motion.duration_s == pytest.approx(86400.0)
    found = refusal(leg("wait", minutes=1440), leg("wait", seconds=0.1), airspeed_kt=0)
    assert found.where == "dawn.toml, leg 2 (wait)"


@pytest.mark.parametrize(
    ("text", "where", "wrong"),
    [
        ("", "dawn.toml, leg", "no legs"),
        ("leg = []", "dawn.toml, leg", "no legs"),
        ("[leg]\nkind='wait'", "dawn.toml, leg", "single table"),
        ("leg = [1]\n" + legs_text(), "dawn.toml, leg 1", "not a table"),
        ("title = 'a'\ntitle = 'b'\n", "dawn.toml, line 2", "not valid TOML"),
        ("title = ", "dawn.toml", "not valid TOML"),
        ("a = 1\nb = [1, 2\nc = 3", "dawn.toml, line 3", "not valid TOML"),
        ("a = " + "[" * 5000, "dawn.toml", "nested too deeply"),
        ("a = " + "1" * 5000, "dawn.toml", "not valid TOML"),
        ("#" * 1_000_001, "dawn.toml", "too long"),
        (legs_text(*[MINUTE] * 2001), "dawn.toml, leg", "2,001 legs"),
        (legs_text(leg("rough", level="off")), "dawn.toml, leg", "no leg takes any time"),
    ],
    ids=range(12),
)
def test_texts_that_are_no_legs_file(text, where, wrong):
    with pytest.raises(InputError) as caught:
        read_legs_text("dawn.toml", text)
    assert caught.value.where.startswith(where)
    assert wrong in caught.value.wrong


def test_files_that_cannot_be_read(tmp_path):
    def refused(path):
        with pytest.raises(InputError) as caught:
            read_flight(path)
        assert str(path) in caught.value.where
        return str(caught.value)

    assert "cannot be read" in refused(tmp_path / "absent.toml")
    folder = tmp_path / "folder.toml"
    folder.mkdir()
    assert "cannot be read" in refused(folder)
    assert "cannot be read" in refused("null\0byte.toml")
    binary = tmp_path / "binary.toml"
    binary.write_bytes(b"title = '\xff\xfe'")
    assert "not a text file in UTF-8" in refused(binary)
    large = tmp_path / "large.toml"
    large.write_bytes(b"#" * 1_000_001)
    assert "too large" in refused(large)
    good = tmp_path / "good.toml"
    good.write_text("\ufeff" + legs_text(MINUTE), encoding="utf-8")
    assert read_flight(good).title == "good"


def test_the_faults_may_be_named_by_the_caller():
    text = legs_text(MINUTE, leg("fault", name="motor"))
    assert parse_legs("x", text, ("motor",)).legs[1][1].name == "motor"
    with pytest.raises(InputError, match="not a fault"):
        parse_legs("x", text)


KEYS = sorted({name for kind in KINDS.values() for name in kind.__struct_encode_fields__} | set(HEAD))
NUMBERS = st.one_of(
    st.floats(), st.integers(), st.sampled_from([0, 1, -1, 90, 360, 1e-9, 1e300]), st.floats(0.1, 120)
)
VALUES = st.one_of(
    NUMBERS.map(repr),
    st.booleans().map(lambda value: str(value).lower()),
    st.text(string.ascii_lowercase, max_size=8).map(lambda value: f'"{value}"'),
    st.sampled_from(
        ["'right'", "'left'", "'moderate'", "'compass'", "'filter'", "[]", "{}", "[1]", "12:00:00"]
    ),
)
ENTRY = st.tuples(st.sampled_from(sorted(KINDS)), st.dictionaries(st.sampled_from(KEYS), VALUES, max_size=4))


def _only_input_errors(text: str) -> bool:
    """Whether a text flies, with finite numbers; anything but an InputError goes through to the test."""
    try:
        motion = read_legs_text("fuzz.toml", text)
    except InputError:
        return False
    for name in motion.samples.dtype.names:
        assert math.isfinite(float(motion.samples[name].sum())), name
    return True


@given(
    entries=st.lists(ENTRY, min_size=1, max_size=4),
    head=st.dictionaries(st.sampled_from(KEYS), VALUES, max_size=1),
)
def test_random_keys_and_values_give_a_flight_or_an_input_error(entries, head):
    lines = [toml(key, value) for key, value in HEAD.items() if key not in head]
    lines += [f"{key} = {value}" for key, value in head.items()]
    for kind, keys in entries:
        lines += ["[[leg]]", f"kind = '{kind}'", *(f"{key} = {value}" for key, value in keys.items())]
    _only_input_errors("\n".join(lines).replace("minutes = 1440", "minutes = 14"))


# Values in the range of each key, so that most of these flights fly.
def in_range(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False)


FLYABLE = st.one_of(
    st.builds(lambda value: leg("straight", seconds=value), in_range(0.1, 600)),
    st.builds(lambda by, bank: leg("turn", by_deg=by, bank_deg=bank), in_range(-720, 720), in_range(1, 60)),
    st.builds(lambda to, rate: leg("turn", to_deg=to, rate_deg_s=rate), in_range(0, 360), in_range(0.5, 12)),
    st.builds(
        lambda to, rate: leg("climb", to_altitude_ft=to, rate_fpm=rate), in_range(0, 9000), in_range(50, 2000)
    ),
    st.builds(
        lambda to, rate: leg("descend", to_altitude_ft=to, rate_fpm=rate),
        in_range(0, 9000),
        in_range(50, 2000),
    ),
    st.builds(lambda to, at: leg("accelerate", to_kt=to, at_g=at), in_range(0, 210), in_range(0.01, 1)),
    st.builds(lambda to: leg("upset", pitch_deg=to), in_range(-89, 89)),
    st.builds(lambda sd: leg("rough", bank_sd_deg=sd), in_range(0.1, 20)),
)


@given(
    legs=st.lists(FLYABLE, min_size=1, max_size=5),
    latitude_deg=in_range(-89.9, 89.9),
    airspeed_kt=in_range(40, 200),
    wind_kt=in_range(0, 200),
)
def test_flights_at_random_fly_or_give_an_input_error(legs, latitude_deg, airspeed_kt, wind_kt):
    flew = _only_input_errors(
        legs_text(
            *legs, latitude_deg=latitude_deg, airspeed_kt=airspeed_kt, wind_kt=wind_kt, wind_from_deg=70
        )
    )
    event(f"flew: {flew}")


@given(text=st.one_of(st.text(), st.text(alphabet="[]{}='\"\n.legkind0123456789-:T", max_size=60)))
def test_random_texts_give_an_input_error(text):
    with pytest.raises(InputError):
        read_legs_text("fuzz.toml", text)


@given(data=st.data())
def test_a_good_file_with_a_damage_gives_a_flight_or_an_input_error(data):
    text = legs_text(MINUTE, TURN, leg("set", from_="compass"), leg("fault", name="filter", size=0.5), MINUTE)
    at = data.draw(st.integers(0, len(text)))
    cut = data.draw(st.integers(0, 5))
    _only_input_errors(text[:at] + data.draw(st.text(max_size=3)) + text[at + cut :])
