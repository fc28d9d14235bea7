"""Records on paper: the text is the record, every page says which of how many, nothing runs off the page."""

import hashlib
import os
import re
import subprocess
import sys
from dataclasses import replace
from datetime import datetime, timedelta, timezone
from io import BytesIO
from pathlib import Path

import numpy as np
import pikepdf
import pypdfium2
import pytest
from PIL import Image

from gaswright.errors import InputError, Refused
from gaswright.paper import records
from gaswright.paper.font import characters
from gaswright.paper.records import (
    RecordColumn,
    RecordLine,
    RecordSheet,
    moment_text,
    printable,
    record_code,
    record_pdf,
    record_pictures,
)
from papers.measuring import page_text

MADE = datetime(2027, 5, 14, 20, tzinfo=timezone(timedelta(hours=2)))
COLUMNS = (RecordColumn("Happened", "", 19), RecordColumn("What", "", 20), RecordColumn("Pressure", "bar", 12),
           RecordColumn("By", "", 17), RecordColumn("Remark", "", 34))
HASHES = ("K7Q2M9XA-412", "0123456789abcdef" * 4), ("B4BBBBBB-7", "fedcba9876543210" * 4)
ONE_RUN = """
import hashlib
from papers.test_papers_records import sheet_of
from gaswright.paper.records import record_pdf
print(hashlib.sha256(record_pdf(sheet_of(60))).hexdigest())
"""


def line(number: int, remark: str = "", *, struck: bool = False) -> RecordLine:
    """A line of a fill log."""
    cells = (moment_text(MADE - timedelta(minutes=number)), "topped up", f"{200 + number}.5", "Ines (d1)", remark)
    return RecordLine(f"K7Q2M9XA-{number}", cells, struck)


def sheet_of(lines: int) -> RecordSheet:
    """A record of so many lines."""
    return RecordSheet(
        "Fill log", "2027-05-01 to 2027-05-31", "at least 2 years. Rule: policy.", COLUMNS,
        tuple(line(number, "slow fill") for number in range(1, lines + 1)), HASHES, ("Mind the gap.",), "2026.1", MADE,
        "Ines (d1)",
    )


def squeezed(text: str) -> str:
    """A text without spaces, line ends and the marks at which a long word may break."""
    return re.sub(r"[\s\u200b]", "", text)


def pages_of(pdf: bytes) -> int:
    """How many pages a file has."""
    return len(pypdfium2.PdfDocument(pdf))


def test_the_text_is_the_record() -> None:
    """Every cell of every line stands in the text layer, in the order of the record, and nothing twice."""
    sheet = sheet_of(60)
    pdf = record_pdf(sheet)
    text = "".join(squeezed(page_text(pdf, page)) for page in range(pages_of(pdf)))
    place = 0
    for one in sheet.lines:
        wanted = squeezed("".join((one.number, *one.cells)))
        assert text.count(wanted) == 1, wanted
        assert text.index(wanted) > place
        place = text.index(wanted)
    for said in (sheet.title, sheet.period, sheet.retention, *sheet.notes, "60 entries"):
        assert squeezed(said) in text


def test_every_page_says_which_of_how_many_and_repeats_the_heading() -> None:
    """Page numbers run from 1 to m; title, period, who, when, code and the heads of the columns are on each."""
    sheet = sheet_of(100)
    pdf = record_pdf(sheet)
    pages = pages_of(pdf)
    assert pages > 2
    for page in range(pages):
        text = " ".join(page_text(pdf, page).split())
        assert f"page {page + 1} of {pages}" in text
        assert f"record {record_code(sheet)}" in text
        assert "made 14 May 2027 20:00 +02:00 by Ines (d1)" in text
        assert "policy 2026.1" in text
        for said in ("Fill log", sheet.period, "Happened", "Remark", "not proof of who"):
            assert said in text, f"{said} is not on page {page + 1}"


def test_the_heads_of_the_book_are_printed_whole() -> None:
    """Each origin with its number and all 64 digits of its hash can be found as one word."""
    text = page_text(record_pdf(sheet_of(3)), 0)
    for name, hash_ in HASHES:
        assert name in text
        assert hash_ in text


@pytest.mark.parametrize(("stock", "width_mm", "height_mm"), [("a4", 297, 210), ("letter", 279.4, 215.9)])
def test_nothing_runs_off_the_page(stock: str, width_mm: float, height_mm: float) -> None:
    """Words of 200 letters break inside their column: every letter's box lies inside the margins (ISO 216, 11 x 8.5).

    Read with pdfium, letter by letter.
    """
    words = ("x" * 200, "W" * 200, "9" * 60, "d" * 200, "m" * 300)
    long = RecordLine("K7Q2M9XA-123456789012345678", words, struck=True)
    pdf = record_pdf(replace(sheet_of(2), lines=(line(1), long, line(2))), stock)
    document = pypdfium2.PdfDocument(pdf)
    seen = 0
    for page in document:
        close_to = page.get_size()
        assert abs(close_to[0] * 25.4 / 72 - width_mm) < 0.1
        assert abs(close_to[1] * 25.4 / 72 - height_mm) < 0.1
        letters = page.get_textpage()
        for at in range(letters.count_chars()):
            left, bottom, right, top = letters.get_charbox(at)
            if letters.get_text_range(at, 1).strip(" \r\n\u200b"):
                assert left * 25.4 / 72 >= 9.9
                assert right * 25.4 / 72 <= width_mm - 9.9
                assert bottom > 0
                assert top < close_to[1]
                seen += 1
    assert seen > 1000
    text = squeezed(page_text(pdf))
    assert all(text.count(letter) >= count for letter, count in (("x", 200), ("W", 200), ("m", 300)))


def test_a_note_longer_than_a_page_breaks_over_pages() -> None:
    """A remark of 20,000 letters is printed to its end."""
    story = " ".join(f"word{number}" for number in range(2500))
    pdf = record_pdf(replace(sheet_of(1), lines=(line(1, story),)))
    assert pages_of(pdf) > 1
    text = page_text(pdf)
    assert all(f"word{number}" in text for number in (0, 1249, 2499))
    for page in pypdfium2.PdfDocument(pdf):
        letters = page.get_textpage()
        lowest = min(letters.get_charbox(at)[1] for at in range(letters.count_chars())
                     if letters.get_text_range(at, 1).strip())
        assert lowest * 25.4 / 72 > 5, "a line runs off the foot of the page"


def test_an_ordinary_line_stays_on_one_page() -> None:
    """No line of a few words is torn: its number and its last word are on the same page."""
    sheet = sheet_of(0)
    pdf = record_pdf(replace(sheet, lines=tuple(line(number, f"{'so it was ' * 20} end{number}.") for number in
                                                range(1, 40))))
    for page in range(pages_of(pdf)):
        text = page_text(pdf, page)
        for number in range(1, 40):
            assert (f"K7Q2M9XA-{number} " in text) == (f"end{number}." in text)


def test_a_struck_line_is_drawn_through_and_can_be_read() -> None:
    """Voiding a line draws over it and takes no letter away; the picture is grey alone."""
    plain = replace(sheet_of(1), lines=(line(1, "wrong row"),))
    struck = replace(plain, lines=(replace(plain.lines[0], struck=True),))
    assert squeezed(plain.lines[0].cells[4]) in squeezed(page_text(record_pdf(struck)))
    pictures = [np.asarray(Image.open(BytesIO(record_pictures(one)[0])).convert("RGB")) for one in (plain, struck)]
    ink = [int((picture < 128).sum()) for picture in pictures]
    assert ink[1] > ink[0] + 500
    for picture in pictures:
        assert (picture[..., 0] == picture[..., 1]).all()
        assert (picture[..., 1] == picture[..., 2]).all()


def test_a_letter_that_the_font_lacks_is_printed_as_its_code_point() -> None:
    """A name must neither stop a record nor leave a hole; nor may a sign turn the line around."""
    assert not set("Ł\u202e\u200b\n") & {one for one in characters() if one.isprintable()}
    assert printable("Łucja\u202e\n") == "{U+0141}ucja{U+202E}{U+000A}"
    assert printable("a\u00adb\u00a0c") == "a{U+00AD}b{U+00A0}c"  # letters of the font that nobody sees
    pdf = record_pdf(replace(sheet_of(1), made_by="Łucja (d2)"))
    assert "{U+0141}ucja (d2)" in " ".join(page_text(pdf).split())


def test_values_are_data_and_never_markup() -> None:
    """A remark made of commands of the typesetter stands as it was typed."""
    typed = "#panic[x] *b* $1$ @ref <l> \\ // no"
    assert squeezed(typed) in squeezed(page_text(record_pdf(replace(sheet_of(1), lines=(line(1, typed),)))))


def test_an_empty_record_says_so() -> None:
    """No lines is an answer too."""
    text = page_text(record_pdf(replace(sheet_of(0), heads=())))
    assert "No entry in this period." in text
    assert "none: the book is empty" in text
    assert "page 1 of 1" in text


def test_more_than_anybody_reads_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """A record of too many lines is refused with what to do; unknown paper too."""
    monkeypatch.setattr(records, "LONGEST", 4)
    with pytest.raises(Refused, match="choose a shorter period"):
        record_pdf(sheet_of(5))
    with pytest.raises(InputError, match="a4 or letter"):
        record_pdf(sheet_of(1), "a3")


def test_the_code_changes_with_everything_on_the_page() -> None:
    """One changed cell, head, note or time is another code."""
    sheet = sheet_of(2)
    others = (
        replace(sheet, made_at=MADE + timedelta(seconds=1)), replace(sheet, made_by=""), replace(sheet, notes=()),
        replace(sheet, heads=HASHES[:1]), replace(sheet, lines=sheet.lines[:1]),
        replace(sheet, lines=(replace(sheet.lines[0], struck=True), sheet.lines[1])),
    )
    codes = {record_code(one) for one in (sheet, *others)}
    assert len(codes) == len(others) + 1
    assert record_code(sheet) == record_code(sheet_of(2))


def test_two_processes_give_the_same_bytes() -> None:
    """Another hash seed, time zone and language change nothing."""
    tests = Path(__file__).parents[1]
    paths = os.pathsep.join([str(tests.parent / "src"), str(tests)])
    found = set()
    for changes in ({"PYTHONHASHSEED": "1", "TZ": "UTC"}, {"PYTHONHASHSEED": "2", "TZ": "Pacific/Auckland"}):
        run = subprocess.run([sys.executable, "-c", ONE_RUN], env=os.environ | {"PYTHONPATH": paths} | changes,
                             capture_output=True, text=True, check=True)
        found.add(run.stdout.strip())
    assert found == {hashlib.sha256(record_pdf(sheet_of(60))).hexdigest()}


def test_the_file_is_made_for_keeping() -> None:
    """PDF/A-2b, one embedded font, B612 Bold, dated by the record."""
    with pikepdf.open(BytesIO(record_pdf(sheet_of(3)))) as pdf:
        dictionaries = [one for one in pdf.objects if isinstance(one, pikepdf.Dictionary)]
        fonts = [one for one in dictionaries if one.get("/Type") == "/Font"]
        names = {str(one["/BaseFont"]).lstrip("/").split("+")[-1].removesuffix("-Identity-H") for one in fonts}
        assert names == {"B612-Bold"}
        with pdf.open_metadata() as metadata:
            assert metadata.pdfa_status == "2B"
        assert str(pdf.docinfo["/CreationDate"]).startswith("D:20270514")
