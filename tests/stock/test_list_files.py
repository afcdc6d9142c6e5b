"""A file as a table of text, and a table as a file."""

from __future__ import annotations

import csv
import io
import zipfile
from datetime import date, datetime
from decimal import Decimal
from typing import Any

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shop.stock.lists import files
from shop.stock.lists.files import Unreadable, read, write
from tests.stock.listed import lines, workbook

NAMES = frozenset({"item", "name", "quantity", "due"})
HEAD = ["item", "name", "quantity", "due"]


def table(content: bytes) -> list[tuple[int, tuple[str, ...]]]:
    return [(one.number, one.cells) for one in read(content, NAMES).lines]


def assert_read_or_said(content: bytes) -> None:
    """The file is a table with lines, or a sentence says why not."""
    try:
        found, said = read(content, NAMES).lines, ""
    except Unreadable as why:
        found, said = (), str(why)
    assert found or said.endswith(".")


# --- text ---


def test_quoted_cells_hold_commas_line_breaks_and_doubled_quotes() -> None:
    """RFC 4180, section 2, rules 5 to 7; a line break is one space in the list."""
    content = lines("item,name", '"T01","a ""wide"" set, open\r\ngear"', "T02,x")
    assert table(content)[1:] == [
        (2, ("T01", 'a "wide" set, open gear')),
        (3, ("T02", "x")),
    ]


def test_the_last_line_may_end_without_a_line_break() -> None:
    """RFC 4180, section 2, rule 2."""
    assert table(b"item,name\r\nT01,x")[1:] == [(2, ("T01", "x"))]


@pytest.mark.parametrize("between", [",", ";", "\t"])
def test_comma_semicolon_and_tab_are_told_apart_by_the_head(between: str) -> None:
    """Common practice, no source: spreadsheets write ; where the comma is decimal."""
    content = lines(between.join(HEAD), between.join(["T01", "plain", '"8,8"', "2031-03-04"]))
    assert table(content)[1] == (2, ("T01", "plain", "8,8", "2031-03-04"))


def test_empty_lines_are_left_out_and_the_others_keep_their_numbers() -> None:
    content = lines("", "item,name", "", ",", "T01,x", "")
    assert table(content) == [(2, ("item", "name")), (5, ("T01", "x"))]


def test_a_mark_before_the_first_letter_is_no_part_of_it() -> None:
    """U+FEFF, as The Unicode Standard lets a file begin."""
    assert table(b"\xef\xbb\xbf" + lines("item,name", "T01,x"))[0] == (1, ("item", "name"))
    utf_16 = "item\tname\r\nT01\tö\r\n".encode("utf-16")
    assert table(utf_16)[1] == (2, ("T01", "ö"))


def test_a_file_that_is_not_utf_8_is_read_as_windows_1252_and_says_so() -> None:
    found = read("item,name\r\nT01,Öse 3°\r\n".encode("cp1252"), NAMES)
    assert found.lines[1].cells == ("T01", "Öse 3°")
    assert found.told.startswith("Line 2 is not UTF-8: the file is read as Windows-1252.")
    assert read("item,name\r\nT01,Öse 3°\r\n".encode(), NAMES).told == ""


def test_the_apostrophe_before_a_formula_is_taken_off() -> None:
    assert table(lines("item,name", "T01,'=1+1"))[1] == (2, ("T01", "=1+1"))


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"", "There is nothing in this file."),
        (b" \r\n\r\n", "There is nothing in this file."),
        (b",,\r\n,,\r\n", "There is nothing in this file."),
        (b"item,name\r\nT01,\x00\r\n", "it holds what is no text"),
        (b"%PDF-1.7\n\x81\x00\x9d", "Line 2 is neither UTF-8 nor Windows-1252."),
        (b"\x89PNG\r\n\x1a\n\x00", "it holds what is no text"),
        (b'item,name\r\nT01,"x\r\nT02,y\r\n', "a quotation mark is open"),
        (b'item,name\r\nT01,"x"y\r\n', "a quotation mark is open"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1rest", "old spreadsheet, or one with a password"),
        (b"PK\x03\x04rest", "This file is no XLSX, or it is damaged."),
        (b"item\r\n" + b"," * 300, "Line 2 has more than 200 columns."),
        (b"x" * (5 * files.MB + 1), "The file is larger than 5 MB."),
        (lines("item", *["T01"] * 2_001), "The list has more than 2000 rows."),
        (lines("item", *[""] * 100_001, "T01"), "goes on past line 100000"),
    ],
    ids=lambda value: value[:20] if isinstance(value, str) else "",
)
def test_a_file_that_is_no_table_says_why_and_what_to_do(content: bytes, told: str) -> None:
    with pytest.raises(Unreadable) as why:
        read(content, NAMES)
    assert told in str(why.value)
    assert str(why.value).endswith(".")


def test_as_many_rows_as_may_be_are_read() -> None:
    assert len(table(lines("item", *["T01"] * 2_000))) == 2_001


# --- workbooks ---


def test_the_cells_of_a_workbook_are_text_of_one_form() -> None:
    """What a spreadsheet keeps as a binary number is said with 15 figures, as it shows it."""
    row = ["T01", 6, 6.0, 8.8, 0.1 + 0.2, date(2031, 3, 4), datetime(2031, 3, 4), True, None, "x"]
    [_, (_, cells)] = table(workbook(HEAD, row))
    assert cells == (
        "T01", "6", "6", "8.8", "0.3", "2031-03-04", "2031-03-04", "yes", "", "x",
    )  # fmt: skip


def test_empty_rows_of_a_workbook_count_as_lines() -> None:
    found = table(workbook(HEAD, [None, None], ["T01"]))
    assert [number for number, _ in found] == [1, 3]


def with_formula(value: str) -> bytes:
    """A workbook with a formula in B2, and the value that was last reckoned for it."""
    made = workbook(HEAD, ["T01", "=1+1"])
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(made)) as old, zipfile.ZipFile(out, "w") as new:
        for part in old.infolist():
            data = old.read(part)
            if part.filename == "xl/worksheets/sheet1.xml":
                assert b"<v />" in data or b"<v></v>" in data or b"<v/>" in data
                for empty in (b"<v />", b"<v></v>", b"<v/>"):
                    data = data.replace(empty, value.encode())
            new.writestr(part, data)
    return out.getvalue()


def test_of_a_formula_its_value_is_taken() -> None:
    found = read(with_formula("<v>2</v>"), NAMES)
    assert (found.lines[1].cells, found.lines[1].wrong) == (("T01", "2"), ())


def test_a_formula_without_a_value_is_named_by_its_cell() -> None:
    line = read(with_formula(""), NAMES).lines[1]
    [(place, words)] = line.wrong
    assert (line.number, place) == (2, 1)
    assert words.startswith("A formula without a value.")


def test_a_cell_that_shows_an_error_is_named() -> None:
    line = read(workbook(HEAD, ["T01", "#DIV/0!"]), NAMES).lines[1]
    assert [words for _, words in line.wrong] == [
        "The cell holds the error #DIV/0!. Write what it is to say."
    ]


def test_only_the_first_sheet_is_read_and_that_is_said() -> None:
    book = openpyxl.Workbook()
    book.worksheets[0].title = "March"
    book.worksheets[0].append(["item"])
    book.create_sheet("April").append(["name"])
    stream = io.BytesIO()
    book.save(stream)
    found = read(stream.getvalue(), NAMES)
    assert found.told == "Only the first of 2 sheets is read: March."


def test_a_workbook_that_unpacks_to_more_than_any_list_is_not_unpacked(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A ZIP bomb (CWE-409): 150 MB of nothing in 150 kB."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for number in range(15):
            packed.writestr(f"xl/worksheets/sheet{number}.xml", b" " * (10 * files.MB))
    assert len(out.getvalue()) < files.MB
    monkeypatch.setattr(openpyxl, "load_workbook", lambda *_, **__: pytest.fail("unpacked"))
    with pytest.raises(Unreadable, match="Unpacked this file is larger than 100 MB"):
        read(out.getvalue(), NAMES)


def far_row(reference: int) -> bytes:
    """A workbook whose second row says that it is this one."""
    made = workbook(HEAD, ["T01"])
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(made)) as old, zipfile.ZipFile(out, "w") as new:
        for part in old.infolist():
            data = old.read(part)
            if part.filename == "xl/worksheets/sheet1.xml":
                data = data.replace(b'<row r="2"', f'<row r="{reference}"'.encode())
                data = data.replace(b'r="A2"', f'r="A{reference}"'.encode())
            new.writestr(part, data)
    return out.getvalue()


def test_a_row_far_below_the_others_is_not_waited_for() -> None:
    assert read(far_row(500), NAMES).lines[1].number == 500
    with pytest.raises(Unreadable, match="goes on past line 100000"):
        read(far_row(999_999_999_999), NAMES)


@settings(max_examples=200, deadline=None)
@given(st.binary(max_size=400))
def test_any_bytes_are_a_table_or_a_sentence(content: bytes) -> None:
    assert_read_or_said(content)


GOOD = workbook(HEAD, ["T01", "x", 6, date(2031, 3, 4)], ["T02", "=1", True, 8.8])


@settings(max_examples=150, deadline=None)
@given(st.lists(st.tuples(st.integers(0, len(GOOD) - 1), st.integers(0, 255)), max_size=8))
def test_any_damaged_workbook_is_a_table_or_a_sentence(damage: list[tuple[int, int]]) -> None:
    content = bytearray(GOOD)
    for place, value in damage:
        content[place] = value
    assert_read_or_said(bytes(content))


SHEET = (
    '<?xml version="1.0"?><worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/'
    '2006/main"><sheetData>{}</sheetData></worksheet>'
)
CELLS = st.lists(
    st.sampled_from(
        ['<row r="1">', "<row>", '<row r="x">', '<row r="-3">', "</row>", '<c r="A1"><v>1</v></c>',
         '<c r="ZZZZ1"><v>1</v></c>', '<c t="s"><v>99</v></c>', '<c t="d"><v>soon</v></c>',
         '<c t="inlineStr"><is><t>T01</t></is></c>', '<c s="77"><v>1</v></c>',
         '<c t="b"><v>7</v></c>', "<c><f>1+1</f></c>", '<c t="n"><v>1e999</v></c>',
         '<c t="n"><v>nan</v></c>', '<c r="A2" t="e"><v>#REF!</v></c>'],
    ),
    max_size=12,
)  # fmt: skip


@settings(max_examples=200, deadline=None)
@given(CELLS)
def test_any_sheet_inside_a_workbook_is_a_table_or_a_sentence(parts: list[str]) -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(GOOD)) as old, zipfile.ZipFile(out, "w") as new:
        for part in old.infolist():
            sheet = part.filename == "xl/worksheets/sheet1.xml"
            new.writestr(part, SHEET.format("".join(parts)) if sheet else old.read(part))
    assert_read_or_said(out.getvalue())


# --- written ---

FORMULAS = ["=1+1", "+1", "-1", "@SUM(A1)", '=HYPERLINK("x")']
ROW = ["T01", Decimal("8.800"), date(2031, 3, 4), True, None, *FORMULAS]


def test_no_cell_of_a_csv_begins_as_a_formula() -> None:
    """The characters that OWASP ASVS 5.0 lists in requirement 1.2.10."""
    content = write("csv", "items", ["=head", *"bcdefghij"], [ROW])
    [head, row] = csv.reader(io.StringIO(content.decode(), newline=""))
    assert head[0] == "'=head"
    assert row == ["T01", "8.8", "2031-03-04", "yes", "", *(f"'{one}" for one in FORMULAS)]


def test_lines_of_a_csv_end_with_cr_and_lf_and_quotes_are_doubled() -> None:
    """RFC 4180, section 2, rules 1 and 7."""
    content = write("csv", "items", ["a", "b"], [['a "wide" one', "x,y"]])
    assert content == b'a,b\r\n"a ""wide"" one","x,y"\r\n'


def test_no_cell_of_a_workbook_is_a_formula() -> None:
    """Looked at as openpyxl reads it, formulas and all."""
    content = write("xlsx", "items", list("abcdefghij"), [ROW])
    sheet = openpyxl.load_workbook(io.BytesIO(content)).worksheets[0]
    kinds = {one.data_type for row in sheet.iter_rows() for one in row}
    assert "f" not in kinds
    row = [one.value for one in sheet[2]]
    assert row[5:] == FORMULAS
    assert [one.data_type for one in sheet[2]][5:] == ["s"] * len(FORMULAS)
    assert [one.quotePrefix for one in sheet[2]][5:] == [True, False, False, False, True]
    assert (row[1], row[2]) == (8.8, datetime(2031, 3, 4))


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(["csv", "xlsx"]), st.text().filter(lambda one: not one.startswith("'")))
def test_what_is_written_is_read_again(form: str, name: str) -> None:
    told: list[Any] = ["T01", name, 6, date(2031, 3, 4)]
    lines_ = read(write(form, "items", HEAD, [told]), NAMES).lines
    plain = " ".join(files._NO_TEXT.sub("", name).split())
    assert lines_[1].cells == ("T01", plain, "6", "2031-03-04")
