"""The readers of recorded tracks: what flies, what is refused, and with which words."""

import contextlib
import re
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from lubberline.errors import InputError
from lubberline.flight.flights import parse_wind, read_flight, read_flight_bytes
from lubberline.flight.tracks.files import LARGEST_BYTES, read_fixes

DOCUMENT = Path(__file__).parents[2] / "docs" / "instructors" / "tracks.md"
HEAD = "time_utc,latitude_deg,longitude_deg,altitude_m"
ROWS = [f"2025-06-01T10:00:{second:02d}Z,{48 + second * 4e-4:.6f},11.2,900" for second in range(10)]


def shown_example(kind: str) -> str:
    found = re.search(rf"```{kind}\n(.*?)```", DOCUMENT.read_text(encoding="utf-8"), re.DOTALL)
    assert found is not None
    return found.group(1)


GPX, IGC = shown_example("xml"), shown_example("igc")


def csv_of(*rows: str, head: str = HEAD) -> bytes:
    return "\n".join([head, *rows]).encode()


def refused(data: bytes, name: str = "t.csv") -> InputError:
    with pytest.raises(InputError) as caught:
        read_flight_bytes(name, data)
    return caught.value


@pytest.mark.parametrize("kind", ["csv", "xml", "igc"])
@pytest.mark.parametrize("name", ["named", "unnamed"])
def test_the_examples_of_the_document_are_one_flight(kind: str, name: str) -> None:
    ending = {"csv": ".csv", "xml": ".gpx", "igc": ".igc"}[kind]
    fixes = read_fixes(f"flight{ending if name == 'named' else ''}", shown_example(kind).encode())
    np.testing.assert_allclose(fixes.latitude_deg, [48.1, 48.10155, 48.10311], atol=1e-5)
    np.testing.assert_allclose(fixes.longitude_deg, [11.2, 11.20233, 11.20466], atol=1e-5)
    np.testing.assert_allclose(fixes.altitude_m, [900, 902, 905])
    # 2025-06-01T10:00:00Z by `date -u -d ... +%s`.
    np.testing.assert_allclose(fixes.time_utc_s - 1748772000.0, [0, 5, 10])


def test_a_motion_comes_out_with_its_start_and_kind() -> None:
    motion = read_flight_bytes("t.gpx", GPX.encode())
    assert motion.kind == "track"
    assert motion.title == "Circuit"
    assert motion.start_utc.isoformat() == "2025-06-01T10:00:00+00:00"
    assert motion.duration_s == pytest.approx(10.0)
    assert len(motion.sparse) == len(motion.slow) == len(motion.samples) == 101


CSV_REFUSALS = {
    "missing column": (csv_of("2025-06-01T10:00:00Z,48,11", head=HEAD[:-11]), "line 1", "altitude_m"),
    "backwards": (csv_of(ROWS[0], ROWS[2], ROWS[1]), "line 4, time", "order of time"),
    "jump": (csv_of(ROWS[0], "2025-06-01T10:00:01Z,48.02,11.2,900"), "line 3", "700 kt"),
    "latitude 91": (csv_of(ROWS[0], "2025-06-01T10:00:01Z,91,11.2,900"), "line 3, latitude_deg", "89.9"),
    "pole": (csv_of(ROWS[0], "2025-06-01T10:00:01Z,-89.95,11.2,9"), "line 3, latitude_deg", "89.9"),
    "longitude": (csv_of(ROWS[0], "2025-06-01T10:00:01Z,48,181,900"), "line 3, longitude_deg", "180"),
    "altitude": (csv_of(ROWS[0], "2025-06-01T10:00:01Z,48,11.2,-9999"), "line 3, altitude_m", "-1000"),
    "nan": (csv_of(ROWS[0], "2025-06-01T10:00:01Z,nan,11.2,900"), "line 3, latitude_deg", "number"),
    "inf": (csv_of(ROWS[0], "2025-06-01T10:00:01Z,48,11.2,inf"), "line 3, altitude_m", "number"),
    "word": (csv_of(ROWS[0], "2025-06-01T10:00:01Z,48,11.2,high"), "line 3, altitude_m", "'high'"),
    "blank cell": (csv_of(ROWS[0], "2025-06-01T10:00:01Z,48,11.2,"), "line 3, altitude_m", "number"),
    "one point": (csv_of(ROWS[0]), "t.csv", "two fixes"),
    "no point": (csv_of(), "t.csv", "two fixes"),
    "no zone": (csv_of(ROWS[0].replace("Z", ""), ROWS[1]), "line 2, time_utc", "end the time in Z"),
    "no time": (csv_of(ROWS[0].replace("2025-06-01T10:00:00Z", "ten"), ROWS[1]), "line 2, time_utc", "ten"),
    "year": (csv_of(ROWS[0].replace("2025", "0001"), ROWS[1]), "line 2, time_utc", "1951"),
    "decimal comma": (
        csv_of('2025-06-01T10:00:00Z,"48,1",11.2,900', ROWS[1]),
        "line 2, latitude_deg",
        "point",
    ),
    "commas": (csv_of("2025-06-01T10:00:00Z,48,1,11,2,900", ROWS[1]), "line 2", "point"),
    "semicolons": (csv_of(ROWS[0], head=HEAD.replace(",", ";")), "line 1", "comma"),
    "column twice": (csv_of(ROWS[0] + ",1", head=HEAD + ",altitude_m"), "line 1", "twice"),
    "empty": (b"", "t.csv", "empty"),
    "blank": (b" \n \n", "t.csv", "blank"),
    "binary": (b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", "t.csv", "binary"),
    "control": (b"time_utc\x01\x02,\xff\xfe", "t.csv", "binary"),
    "two days": (csv_of(ROWS[0], "2025-06-03T10:00:00Z,48,11.2,900"), "t.csv", "own file"),
    "one moment": (csv_of(ROWS[0], ROWS[0]), "t.csv", "at least a second"),
}


@pytest.mark.parametrize("case", CSV_REFUSALS)
def test_a_bad_table_is_refused_by_place(case: str) -> None:
    data, where, said = CSV_REFUSALS[case]
    wrong = refused(data)
    assert wrong.where.startswith("t.csv")
    assert wrong.where.endswith(where)
    assert said in str(wrong)


GPX_REFUSALS = {
    "version": (GPX.replace('version="1.1"', 'version="2.0"'), "line 2, version", "1.1"),
    "no version": (GPX.replace('version="1.1" ', "", 1), "line 2, version", "1.1"),
    "no points": ('<gpx version="1.1"></gpx>', "t.gpx", "trkpt"),
    "not gpx": ("<html></html>", "line 1", "html"),
    "doctype": (GPX.replace("<gpx", '<!DOCTYPE gpx SYSTEM "x.dtd">\n<gpx', 1), "line 2", "document type"),
    "entity": (
        GPX.replace("<gpx", '<!DOCTYPE gpx [<!ENTITY a "b">]>\n<gpx', 1).replace("Circuit", "&a;"),
        "line 2",
        "entity",
    ),
    "cut short": (GPX[:-40], "line 6", "well-formed"),
    "no time": (GPX.replace("<time>2025-06-01T10:00:05Z</time>", ""), "line 5, time", "without a time"),
    "no latitude": (GPX.replace('lat="48.10155" ', ""), "line 5", "without lat"),
    "latitude": (GPX.replace('"48.10155"', '"north"'), "line 5, lat", "'north'"),
    "latitude 91": (GPX.replace('"48.10155"', '"91"'), "line 5, latitude_deg", "89.9"),
    "height": (GPX.replace("<ele>902", "<ele>nan"), "line 5, ele", "nan"),
}


@pytest.mark.parametrize("case", GPX_REFUSALS)
def test_a_bad_gpx_is_refused_by_place(case: str) -> None:
    data, where, said = GPX_REFUSALS[case]
    wrong = refused(data.encode(), "t.gpx")
    assert wrong.where.endswith(where)
    assert said in str(wrong)


IGC_REFUSALS = {
    "no date": (IGC.replace("HFDTE010625\n", ""), "t.igc", "HFDTE"),
    "date": (IGC.replace("HFDTE010625", "HFDTE311325"), "line 2, HFDTE", "HFDTEDDMMYY"),
    "no fixes": ("AXXX001\nHFDTE010625\n", "t.igc", "B records"),
    "hour": (IGC.replace("B100005", "B250005"), "line 4, time", "23"),
    "minutes": (IGC.replace("4806093N", "4861093N"), "line 4", "59.999"),
    "letters": (IGC.replace("4806093N", "48O6093N"), "line 4", "BHHMMSS"),
    "backwards": (IGC.replace("B100005", "B095955"), "line 4, time", "order of time"),
    "latitude": (IGC.replace("4806093N", "9106093N"), "line 4, latitude_deg", "89.9"),
}


@pytest.mark.parametrize("case", IGC_REFUSALS)
def test_a_bad_igc_is_refused_by_place(case: str) -> None:
    data, where, said = IGC_REFUSALS[case]
    wrong = refused(data.encode(), "t.igc")
    assert wrong.where.endswith(where)
    assert said in str(wrong)


def test_igc_south_and_west_midnight_and_a_cut_record() -> None:
    rows = ["AXXX001", "HFDTEDATE:310125,01"]
    rows += ["B2359503403000S05830000WA0010000120", "B0000003403010S05830010WA0010000121"]
    rows += ["B0000103403020S05830020WA0010000122", "B000020340"]
    fixes = read_fixes("t.igc", "\r\n".join(rows).encode())
    np.testing.assert_allclose(fixes.latitude_deg, [-34.05, -34.05 - 1e-2 / 60, -34.05 - 2e-2 / 60])
    np.testing.assert_allclose(fixes.longitude_deg[0], -58.5)
    np.testing.assert_allclose(np.diff(fixes.time_utc_s), [10.0, 10.0])
    assert any("line 4: midnight" in said for said in fixes.warnings)
    assert any("line 6" in said and "cut short" in said for said in fixes.warnings)


def test_igc_without_altitude_by_satellites_says_that_it_is_by_pressure() -> None:
    fixes = read_fixes("t.igc", re.sub(r"A(\d{5})\d{5}\n", r"A\g<1>00000\n", IGC).encode())
    np.testing.assert_allclose(fixes.altitude_m, [850, 852, 855])
    assert "pressure altitude" in fixes.warnings[0]


def test_pressure_altitude_is_taken_and_said() -> None:
    fixes = read_fixes("t.csv", csv_of(*ROWS, head=HEAD.replace("altitude_m", "pressure_altitude_m")))
    assert fixes.altitude_m[0] == 900.0
    assert "pressure_altitude_m was taken as the altitude above mean sea level" in fixes.warnings[0]


def test_a_misspelt_column_is_named() -> None:
    fixes = read_fixes("t.csv", csv_of(*(row + ",90" for row in ROWS), head=HEAD + ",groundspeed_kts"))
    assert "did you mean 'groundspeed_kt'?" in fixes.warnings[0]


def test_empty_cells_of_speed_and_track_pass() -> None:
    rows = [row + (",90,0" if i % 2 else ",,") for i, row in enumerate(ROWS)]
    fixes = read_fixes("t.csv", csv_of(*rows, head=HEAD + ",groundspeed_kt,track_deg"))
    assert np.isnan(fixes.groundspeed_kt[::2]).all()
    np.testing.assert_allclose(fixes.groundspeed_kt[1::2], 90.0)


def test_an_offset_is_a_zone() -> None:
    shifted = [row.replace("T10:", "T12:").replace("Z,", "+02:00,") for row in ROWS]
    there, here = read_fixes("t.csv", csv_of(*shifted)), read_fixes("t.csv", csv_of(*ROWS))
    np.testing.assert_array_equal(there.time_utc_s, here.time_utc_s)


def test_gpx_speed_and_course_of_extensions_are_read() -> None:
    inside = "<extensions><x:speed>50</x:speed><x:course>45</x:course></extensions></trkpt>"
    text = GPX.replace("</trkpt>", inside).replace("<gpx ", '<gpx xmlns:x="urn:x" ')
    fixes = read_fixes("t.gpx", text.encode())
    # 1 kt is 1852 m an hour (exact).
    np.testing.assert_allclose(fixes.groundspeed_kt, 50.0 * 3600.0 / 1852.0)
    np.testing.assert_allclose(fixes.track_deg, 45.0)


def test_gpx_without_heights_flies_at_sea_level_and_says_so() -> None:
    text = re.sub(r"<ele>\d+</ele>", "", GPX)
    fixes = read_fixes("t.gpx", text.encode())
    assert (fixes.altitude_m == 0.0).all()
    assert "no <ele>" in fixes.warnings[0]


def test_leading_blank_lines_do_not_shift_the_line_named() -> None:
    wrong = refused(("\n\n" + GPX.replace('"48.10155"', '"91"')).encode(), "t.gpx")
    assert "line 7" in wrong.where


def test_files_that_are_not_there_or_not_files(tmp_path: Path) -> None:
    for path, said in ((tmp_path / "none.gpx", "no such file"), (tmp_path, "not a file")):
        with pytest.raises(InputError, match=said):
            read_flight(path)
    with pytest.raises(InputError):
        read_flight("nul\0.gpx")


def test_a_huge_file_is_refused_unread(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "huge.csv"
    monkeypatch.setattr(Path, "read_bytes", lambda _: pytest.fail("the file was read"))
    with path.open("wb") as file:
        file.truncate(LARGEST_BYTES + 1)
    with pytest.raises(InputError, match="100 MB"):
        read_flight(path)


@pytest.mark.parametrize("wind", ["250", "/10", "361/10", "0/-1", "nan/5", "0/201"])
def test_a_wind_that_is_none_is_refused(wind: str) -> None:
    with pytest.raises(InputError, match="wind"):
        parse_wind(wind)


GOOD = {"t.csv": csv_of(*ROWS), "t.gpx": GPX.encode(), "t.igc": IGC.encode()}
FUZZ = settings(suppress_health_check=[HealthCheck.too_slow])


def only_refusal(name: str, data: bytes) -> None:
    """Nothing but `InputError` may come out, and what flies is finite."""
    with contextlib.suppress(InputError):
        motion = read_flight_bytes(name, data)
        for column in motion.samples.dtype.names or ():
            assert np.isfinite(motion.samples[column]).all()


@FUZZ
@given(name=st.sampled_from([*GOOD, "t"]), data=st.binary(max_size=400))
def test_random_bytes_are_refused_or_fly(name: str, data: bytes) -> None:
    only_refusal(name, data)


@FUZZ
@given(
    name=st.sampled_from([*GOOD]),
    start=st.integers(0, 700),
    length=st.integers(0, 30),
    put=st.one_of(
        st.binary(max_size=12),
        st.text(max_size=12).map(lambda text: text.encode("utf-8", "replace")),
        st.floats().map(lambda value: repr(value).encode()),
        st.sampled_from([b"-", b"9", b"00", b",", b"\n", b"\r", b"<", b"&", b"]]>", b"e9", b"Z", b"1e400"]),
    ),
)
@example(name="t.csv", start=47, length=4, put=b"0001")
def test_damaged_files_are_refused_or_fly(name: str, start: int, length: int, put: bytes) -> None:
    good = GOOD[name]
    start %= len(good)
    only_refusal(name, good[:start] + put + good[start + length :])


@FUZZ
@given(
    table=st.lists(
        st.tuples(
            st.floats(0.0, 40.0), st.floats(-1e-3, 1e-3), st.floats(-1e-3, 1e-3), st.floats(-50.0, 50.0)
        ),
        min_size=2,
        max_size=30,
    ),
    latitude=st.sampled_from([0.0, 48.0, -89.0, 89.85]),
    longitude=st.sampled_from([0.0, 179.9995, -179.9995]),
)
def test_any_table_of_numbers_is_refused_or_flies(
    table: list[tuple[float, float, float, float]], latitude: float, longitude: float
) -> None:
    rows, time_s = [], 0.0
    for step_s, north, east, up in table:
        time_s += step_s
        turned = (longitude + east + 180.0) % 360.0 - 180.0
        minute, second = divmod(time_s, 60.0)
        when = f"2025-06-01T10:{minute:02.0f}:{second:09.6f}Z"
        rows.append(f"{when},{latitude + north},{turned},{900 + up}")
    only_refusal("t.csv", csv_of(*rows))
