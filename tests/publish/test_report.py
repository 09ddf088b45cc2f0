"""The one-page report, read with an outside reader of PDF (poppler)."""

import time

import pytest

from lubberline.errors import InputError
from lubberline.publish.pdf import without_glyph
from lubberline.publish.reports.report import report_data, report_pdf
from lubberline.simulation import CAUTIONS
from tests.poppler import poppler

from .made_up import SENTENCE, made_up_flown

FLIGHTS = {
    "plain": {},
    "tumble": {"minutes": 70.0, "settings_s": [0.0, 3300.0], "tumble_deg": -412.0},
    "tiny": {"scale": 0.02, "turns": False},
    "short": {"minutes": 5.0},
    "long": {"minutes": 360.0, "settings_s": [1080.0 * k for k in range(20)]},
    "wordy": {
        "title": "A very long title " * 20,
        "sentence": "It says a great deal, again and again. " * 40,
        "notes": tuple(f"Note {k}: {'words ' * 60}" for k in range(30)),
        "warnings": tuple(f"Line {k}: {'something was assumed ' * 20}" for k in range(30)),
        "settings_s": [300.0 * k for k in range(20)],
    },
}


@pytest.mark.parametrize("name", FLIGHTS)
def test_one_tagged_a4_page_whatever_is_said(name, tmp_path):
    told = poppler("pdfinfo", report_pdf(made_up_flown(**FLIGHTS[name])), tmp_path)
    facts = {key: value.strip() for key, _, value in (line.partition(":") for line in told.splitlines())}
    assert facts["Pages"] == "1"
    assert facts["Tagged"] == "yes"
    assert facts["Page size"].endswith("(A4)")
    assert facts["JavaScript"] == "no"


def test_the_text_holds_what_the_instructor_needs(tmp_path):
    flown = made_up_flown(
        settings_s=[0.0, 1500.0, 3900.0],
        warnings=("track.gpx, line 40: silence of 17 minutes, flown straight",),
        title="Über die Förde",
    )
    flown.summary["cautions"] = list(CAUTIONS)
    text = " ".join(poppler("pdftotext", report_pdf(flown), tmp_path, "-raw").split())
    for words in (
        "Über die Förde",
        "Demo two-seater, clogging filter",
        "14 March 2026, 09:30 UTC",
        SENTENCE,
        "exceeds 3° after 9.2 min at the earliest",
        "exceeds 5° after 18 min at the earliest",
        "Warning: track.gpx, line 40: silence of 17 minutes",
        "Heading is taken as track",
        "WMM2025",
        "seed 7",
        "lubberline 0.1.0",
        "65 min compass",
        "not for navigation",
        "Earth's turning",
    ):
        assert words in text, words
    drift = flown.summary["drift_deg_15min"]["total"]
    assert f"total {drift:+.1f}°".replace("-", "−") in text
    assert "in command decide." in text


def test_what_does_not_fit_is_counted_not_hidden():
    data = report_data(made_up_flown(**FLIGHTS["wordy"]))
    assert data["notes"][-1] == "and 55 more"
    assert data["settings_title"] == "Settings: the 5 with the largest errors of 20"
    assert len(data["settings"]["rows"]) == 5


def test_the_same_flight_gives_the_same_bytes_at_any_time():
    first = report_pdf(made_up_flown(minutes=20))
    assert first == report_pdf(made_up_flown(minutes=20))
    assert first != report_pdf(made_up_flown(minutes=20, seed=8))
    for date in (b"/CreationDate", b"/ModDate", b"xmp:CreateDate", b"xmp:ModifyDate"):
        assert date not in first


def test_it_claims_pdf_ua_and_embeds_its_fonts(tmp_path):
    pdf = report_pdf(made_up_flown(minutes=20))
    assert b"pdfuaid" in pdf
    fonts = poppler("pdffonts", pdf, tmp_path).splitlines()[2:]
    assert fonts
    for line in fonts:
        assert "Libertinus" in line
        assert " yes " in line


def test_user_text_is_set_as_it_is_not_as_markup(tmp_path):
    nasty = '#read("/etc/passwd") *bold* $x^2$ <script> \x00 #panic("no") // gone'
    pdf = report_pdf(made_up_flown(minutes=5, title=nasty, sentence=nasty, notes=(nasty,)))
    text = poppler("pdftotext", pdf, tmp_path, "-layout")
    assert '#read("/etc/passwd") *bold* $x^2$ <script>' in text
    assert '#panic("no") // gone' in text


@pytest.mark.parametrize("title", ["Полёт над рекой", "Zoë Ágnes −3°", "\ud800 broken", ""])
def test_letters_of_europe_do_not_stop_the_report(title):
    assert report_pdf(made_up_flown(minutes=5, title=title)).startswith(b"%PDF")


def test_a_character_that_no_font_has_is_refused_and_named():
    """An unassigned character is in no font: it would be printed as a box."""
    with pytest.raises(InputError, match="no font has the characters \u0378") as refused:
        report_pdf(made_up_flown(minutes=5, title="flight \u0378"))
    assert "leave them out" in refused.value.right
    assert without_glyph("Zoë −3° \u0378") == ["\u0378"]


def test_it_takes_under_150_ms_of_processor():
    flown = made_up_flown(settings_s=[0.0, 1500.0, 3900.0])
    times = []
    for seed in range(3):
        flown.summary["seed"] = seed
        begin = time.process_time()
        report_pdf(flown)
        times.append(time.process_time() - begin)
    assert min(times) < 0.15
