"""Files of values as RFC 4180 has them, and as spreadsheets write them; what cannot be read, by its line."""

import io

import pytest

from shop.outside.csv_files import MOST_LINE_BYTES, CsvFault, CsvFile

Row = tuple[int, list[str]]


@pytest.mark.parametrize(
    ("text", "rows"),
    [
        # RFC 4180, section 2: rules 1 to 7.
        (b"aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n", [(1, ["aaa", "bbb", "ccc"]), (2, ["zzz", "yyy", "xxx"])]),
        (b"aaa,bbb,ccc\r\nzzz,yyy,xxx", [(1, ["aaa", "bbb", "ccc"]), (2, ["zzz", "yyy", "xxx"])]),
        (b'"aa","b\r\nbb","ccc"\r\nzzz,yyy,xxx', [(1, ["aa", "b\r\nbb", "ccc"]), (3, ["zzz", "yyy", "xxx"])]),
        (b'"aaa","b""bb","ccc"', [(1, ["aaa", 'b"bb', "ccc"])]),
        # As spreadsheets write them.
        (b"\xef\xbb\xbfa;b\n1,5;2\n\n;\n3;4", [(1, ["a", "b"]), (2, ["1,5", "2"]), (5, ["3", "4"])]),
        (b'"a;b;c",d\n1,2', [(1, ["a;b;c", "d"]), (2, ["1", "2"])]),
        ("näme\nÅsa 漢".encode(), [(1, ["näme"]), (2, ["Åsa 漢"])]),
        # As we write them: a guarded text comes back as it was, any other apostrophe stays.
        (b"a,b,c\n'+47 22,'=1+1,'tis", [(1, ["a", "b", "c"]), (2, ["+47 22", "=1+1", "'tis"])]),
        (b"", []),
    ],
)  # fmt: skip
def test_a_file_is_taken_apart(text: bytes, rows: list[Row]) -> None:
    file = CsvFile(io.BytesIO(text))
    assert list(file) == rows
    assert list(file) == rows, "it can be walked again"
    assert file.share() == 1.0


@pytest.mark.parametrize(
    ("text", "line", "says"),
    [
        ("a,b\nä,1".encode("latin-1"), 2, "not UTF-8"),
        ("a,b\n1,2".encode("utf-16"), 1, "not UTF-8"),
        (b"a,b\n1,\0", 2, "not plain text"),
        (b'a,b\n1,"2\n3', 2, "a quote does not end"),
        (b'a,b\n1,2\n"3"4,5', 3, "cannot be told apart"),
        (b"a,b\n" + b"x" * MOST_LINE_BYTES, 2, "more than 100,000 bytes"),
    ],
)
def test_what_cannot_be_read_is_said_with_its_line(text: bytes, line: int, says: str) -> None:
    with pytest.raises(CsvFault) as fault:
        list(CsvFile(io.BytesIO(text)))
    assert (fault.value.line, says in str(fault.value)) == (line, True)


def test_a_file_is_read_as_it_is_walked() -> None:
    file = CsvFile(io.BytesIO(b"a,b\n" + b"1,2\n" * 100_000))
    walk = iter(file)
    assert [next(walk), next(walk)] == [(1, ["a", "b"]), (2, ["1", "2"])]
    assert file.share() < 0.001
