"""The files themselves: one embedded font, PDF/A, the same bytes twice, and nothing missing in silence."""

import hashlib
import os
import subprocess
import sys
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pikepdf
import pytest
from PIL import ImageFont

from gaswright.errors import InputError, Refused
from gaswright.paper import typesetting
from gaswright.paper.cards import switch_card_pdf
from gaswright.paper.deck_sheet import deck_sheet_pdf
from gaswright.paper.font import FONT_FOLDER, characters
from gaswright.paper.labels import labels_pdf
from gaswright.paper.slates import slate_pdf
from gaswright.paper.typesetting import Sheet, pdf_of
from papers.permits_for_tests import label_permit_for_tests, sheet_permit_for_tests

DAY = datetime(2027, 5, 14, tzinfo=UTC)
EVERY_SHEET: dict[str, Callable[[], bytes]] = {
    "labels": lambda: labels_pdf([label_permit_for_tests()]),
    "walk-round": lambda: labels_pdf([label_permit_for_tests()], walk_round=True),
    "slate": lambda: slate_pdf(sheet_permit_for_tests(), "d1"),
    "card": lambda: switch_card_pdf(sheet_permit_for_tests()),
    "deck": lambda: deck_sheet_pdf(sheet_permit_for_tests()),
}
ONE_RUN = """
import hashlib
from papers.test_papers_typesetting import EVERY_SHEET
print({name: hashlib.sha256(make()).hexdigest() for name, make in EVERY_SHEET.items()})
"""


def template(folder: Path, monkeypatch: pytest.MonkeyPatch, name: str, text: str, **values: object) -> Sheet:
    """A sheet set by a template of the test's own."""
    (folder / f"{name}.typ").write_text(text, encoding="utf-8")
    monkeypatch.setattr(typesetting, "TEMPLATE_FOLDER", folder)
    return Sheet(name, values, DAY)


def in_another_process(**changes: str) -> str:
    """The hashes of every sheet, made by a new process with another environment."""
    tests = Path(__file__).parents[1]
    paths = os.pathsep.join([str(tests.parent / "src"), str(tests)])
    run = subprocess.run([sys.executable, "-c", ONE_RUN], env=os.environ | {"PYTHONPATH": paths} | changes,
                         capture_output=True, text=True, check=True)
    return run.stdout.strip()


def test_two_processes_give_the_same_bytes() -> None:
    """Another hash seed, time zone and language change nothing in any file."""
    first = in_another_process(PYTHONHASHSEED="1", TZ="UTC", LANG="C")
    second = in_another_process(PYTHONHASHSEED="2", TZ="Pacific/Auckland", LANG="de_DE.UTF-8")
    assert first == second
    assert first == str({name: hashlib.sha256(make()).hexdigest() for name, make in EVERY_SHEET.items()})


@pytest.mark.parametrize("name", EVERY_SHEET)
def test_a_file_holds_one_embedded_font_and_is_made_for_keeping(name: str, tmp_path: Path) -> None:
    """B612 Bold is the only font and lies in the file, which says it is PDF/A-2b and is dated by its record."""
    path = tmp_path / "sheet.pdf"
    path.write_bytes(EVERY_SHEET[name]())
    with pikepdf.open(path) as pdf:
        dictionaries = [one for one in pdf.objects if isinstance(one, pikepdf.Dictionary)]
        fonts = [one for one in dictionaries if one.get("/Type") == "/Font"]
        described = [one for one in dictionaries if one.get("/Type") == "/FontDescriptor"]
        names = {str(one["/BaseFont"]).lstrip("/").split("+")[-1].removesuffix("-Identity-H") for one in fonts}
        assert names == {"B612-Bold"}
        assert len(described) == 1
        assert "/FontFile3" in described[0]
        with pdf.open_metadata() as metadata:
            assert metadata.pdfa_status == "2B"
        assert str(pdf.docinfo["/CreationDate"]).startswith("D:20270514")


def test_a_character_without_a_glyph_is_refused_by_name() -> None:
    """A name with a letter that has no spelling in the font is not printed with a hole in it."""
    with pytest.raises(InputError, match=r"'Ж' \(U\+0416\) in 'Женя' .* write it with other letters"):
        labels_pdf([label_permit_for_tests(names="Женя")])


def test_the_typesetter_agrees_about_every_character(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What our reader of the font calls printable, the typesetter sets without complaint, and FreeType draws."""
    shown = [one for one in sorted(characters()) if one.isprintable()]
    sheet = template(tmp_path, monkeypatch, "every",
                     '#set text(font: "B612", weight: "bold", fallback: false)\n'
                     '#for one in json(bytes(sys.inputs.values)).all { text(one); linebreak() }', all=shown)
    assert len(shown) > 400
    assert pdf_of(sheet).startswith(b"%PDF")
    font = ImageFont.truetype(str(FONT_FOLDER / "B612-Bold.otf"), 40)
    hole = bytes(font.getmask("\U0010fffd"))
    assert all(bytes(font.getmask(one)) != hole for one in shown)
    assert all(bytes(font.getmask(one)) == hole for one in "ŁłČčőŽЖ漢□")
    assert not characters() & set("ŁłČčőŽЖ漢□")


def test_an_unknown_font_is_an_error_and_not_a_blank_sheet(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The typesetter only warns and would print nothing: its warnings are errors here."""
    sheet = template(tmp_path, monkeypatch, "nofont", '#set text(font: "No Such Font", fallback: false)\n21 m')
    with pytest.raises(RuntimeError, match=r"(?i)unknown font family"):
        pdf_of(sheet)


def test_a_refusal_inside_a_template_reaches_the_caller(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What does not fit is refused with its sentence."""
    sheet = template(tmp_path, monkeypatch, "refusing", '#panic("refused: too wide for \\"A6\\"")')
    with pytest.raises(Refused, match=r'^too wide for "A6"$'):
        pdf_of(sheet)


def test_values_are_data_and_never_markup() -> None:
    """A name made of commands of the typesetter stands on the sheet as it was typed."""
    pdf = labels_pdf([label_permit_for_tests(names="#panic[x] *b* $1$ \\ @ref <l>")])
    assert pdf.startswith(b"%PDF")


def test_the_typesetter_is_loaded_only_when_something_is_set() -> None:
    """Importing the paper room does not load the typesetter."""
    code = "import sys, gaswright.paper.labels, gaswright.paper.slates; sys.exit('typst' in sys.modules)"
    subprocess.run([sys.executable, "-c", code], check=True)


def test_words_of_the_templates_are_printable() -> None:
    """Every character that stands in a template itself is in the font too."""
    words = "".join(path.read_text(encoding="utf-8") for path in sorted(typesetting.TEMPLATE_FOLDER.glob("*.typ")))
    assert len(words) > 1000
    assert not set(words) - {"\n"} - characters()
