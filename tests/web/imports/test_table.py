"""Sheets as files: honest ones in several shapes, and hostile ones."""

import datetime as dt
import io
import zipfile

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sillway.errors import BadInput
from sillway.web.imports.table import read_table

HEADER = ("Stock #", "Make")


def read(data):
    return read_table(io.BytesIO(data), len(data))


def xlsx(rows):
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


@pytest.mark.parametrize(
    "data",
    [
        b"Stock #,Make\nD-1,Brundell\n",
        b"\xef\xbb\xbfStock #,Make\r\nD-1,Brundell\r\n",
        b"Stock #;Make\nD-1;Brundell",
        b"Stock #\tMake\n\nD-1\tBrundell\n\t\n",
        "Stock #,Make\nD-1,Brundell\n".encode("utf-16"),
        b'"Stock #", "Make"\n"D-1", "Brundell"\n'.replace(b", ", b","),
    ],
)
def test_csv_in_its_shapes(data):
    table = read(data)
    assert table.header == HEADER
    assert [cells for _row, cells in table.rows] == [("D-1", "Brundell")]


def test_xlsx_values_come_as_one_would_type_them():
    day = dt.datetime(2026, 11, 20)  # noqa: DTZ001 - a spreadsheet knows no zone
    table = read(xlsx([["a", "b", "c", "d", "e"], [34.0, 29.375, True, day, "'-3"], [None, 7]]))
    assert table.rows == (
        (2, ("34", "29.375", "yes", "2026-11-20", "'-3")),
        (3, ("", "7", "", "", "")),
    )


def test_a_formula_stays_a_formula_and_is_not_taken_for_its_value():
    table = read(xlsx([["a", "b"], ["x", "=1+1"]]))
    assert table.rows == ((2, ("x", "=1+1")),)


def bomb():
    """A workbook whose sheet unpacks to 300 MB."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as parts:
        parts.writestr("xl/workbook.xml", "<workbook/>")
        with parts.open("xl/worksheets/sheet1.xml", "w") as part:
            for _count in range(300):
                part.write(b" " * 1_000_000)
    return out.getvalue()


def liar():
    """The same with a small size written in the directory."""
    data = bytearray(bomb())
    whole = (300_000_000).to_bytes(4, "little")
    assert whole in data
    return bytes(data.replace(whole, (1000).to_bytes(4, "little")))


def laughs():
    """Entities in entities."""
    out = io.BytesIO()
    lines = "".join(f'<!ENTITY l{n} "{f"&l{n - 1};" * 10}">' for n in range(1, 10))
    text = f'<?xml version="1.0"?><!DOCTYPE x [<!ENTITY l0 "ha">{lines}]><workbook>&l9;</workbook>'
    good = zipfile.ZipFile(io.BytesIO(xlsx([["a"], ["b"]])))
    with zipfile.ZipFile(out, "w") as parts:
        for name in good.namelist():
            parts.writestr(name, text if name == "xl/workbook.xml" else good.read(name))
    return out.getvalue()


def many_parts():
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as parts:
        for number in range(5001):
            parts.writestr(f"{number}", b"")
    return out.getvalue()


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "empty file"),
        (b"\n\n\n", "no row below a header"),
        (b"a,b\n", "no row below a header"),
        (b"a,b\n1,2,3\n", "3 cells"),
        (b"a,b\n1,Caf\xe9\n", "row 2 is not in UTF-8"),
        (b"a,b\n1,\x00\n", "zero bytes"),
        (b'a,b\n"1,2\n', "whole CSV"),
        (b"a,b\n1," + b"x" * 5000, "at most 4,000 characters"),
        (b"a,b\n1," + b"x" * 200_000, "row"),
        (b",".join([b"a"] * 700) + b"\n1\n", "at most 600 columns"),
        (b"a\n" + b"1\n" * 5001, "more than 5,000 rows"),
        (b"\xd0\xcf\x11\xe0 old", "old or locked workbook"),
        (b"PK\x03\x04 broken", "damaged workbook"),
        (b"\xff\xfeodd", "row 1 is not in UTF-8"),
    ],
)
def test_what_will_not_do_is_one_sentence(data, says):
    with pytest.raises(BadInput) as caught:
        read(data)
    sentence = caught.value.sentence()
    assert says in sentence
    assert "\n" not in sentence
    assert len(sentence) < 300


@pytest.mark.parametrize(
    ("make", "says"),
    [(bomb, "once unpacked"), (liar, "workbook"), (laughs, "workbook"), (many_parts, "parts")],
)
def test_bombs_are_refused_before_they_go_off(make, says):
    with pytest.raises(BadInput, match=says):
        read(make())


def test_a_file_of_100_mb_is_refused_unread():
    class Unread(io.BytesIO):
        def read(self, *args):
            raise AssertionError("read")

    with pytest.raises(BadInput, match="at most 20 MB"):
        read_table(Unread(), 100_000_000)


def test_a_workbook_without_a_workbook_is_refused():
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as parts:
        parts.writestr("word/document.xml", "<x/>")
    with pytest.raises(BadInput, match="another kind of file"):
        read(out.getvalue())


@given(st.binary(max_size=300))
def test_no_bytes_break_it(data):
    try:
        table = read(data)
    except BadInput as error:
        table = None
        sentence = error.sentence()
    assert table.rows if table else "\n" not in sentence
