"""Files of loggers taken apart: whatever parts their cells, and what cannot be taken apart."""

import pytest

from shop.outside.logger_files import FileUnreadable, rows_of


@pytest.mark.parametrize(
    ("text", "rows"),
    [
        ("time,celsius\n1,20.5\n", [(1, ["time", "celsius"]), (2, ["1", "20.5"])]),
        ("time;celsius\r\n1;20,5\r\n", [(1, ["time", "celsius"]), (2, ["1", "20,5"])]),
        ("time\tcelsius\n1\t20,5\n", [(1, ["time", "celsius"]), (2, ["1", "20,5"])]),
        ('time,celsius\n1,"20,5"\n', [(1, ["time", "celsius"]), (2, ["1", "20,5"])]),
        ('a;b\n"x""y";"1\n2"\n3;4', [(1, ["a", "b"]), (2, ['x"y', "1\n2"]), (4, ["3", "4"])]),
        (
            "serial 7\n\ntime;celsius\n1;20,5",
            [(1, ["serial 7"]), (3, ["time", "celsius"]), (4, ["1", "20,5"])],
        ),
        ("a,b\r1,2\r", [(1, ["a", "b"]), (2, ["1", "2"])]),
        ("", []),
    ],
)
def test_rows_come_with_their_lines(text: str, rows: list[tuple[int, list[str]]]) -> None:
    assert list(rows_of(text.encode())) == rows
    assert list(rows_of(b"\xef\xbb\xbf" + text.encode())) == rows


@pytest.mark.parametrize(
    ("body", "line", "says"),
    [
        ("time,°C\n1,2\n".encode("latin-1"), 1, "not UTF-8"),
        (b"time,c\n1,2\n1,\xb0\n", 3, "not UTF-8"),
        ("time,c\n".encode("utf-16"), 1, "not UTF-8"),
        (b"time,c\n1,\x00\n", 0, "not plain text"),
        (b'time,c\n"1,2\n', 2, "a quote does not end"),
        (b'time,c\n1,2\n"1"x,2\n', 3, "a quote does not end"),
        (b'time,c\n1,"' + b"2" * 200_000 + b'"\n', 2, "far too long"),
    ],
)
def test_what_cannot_be_taken_apart(body: bytes, line: int, says: str) -> None:
    with pytest.raises(FileUnreadable, match=says) as refused:
        list(rows_of(body))
    assert refused.value.line == line
