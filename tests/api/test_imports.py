"""Taking in a list by the API: all of it or nothing, faults by line and column, a dry run, a retry."""

from typing import Any

import pytest

from shop.rules.people import Scope
from shop.web.uploads import MOST_FILE_BYTES
from tests.api.conftest import Program

CSV = {"content-type": "text/csv; charset=utf-8"}
FILE = b"name;email\r\nBo Reed;bo@reed.example\r\nCay Moss;\r\n"


def send(program: Program, body: bytes = FILE, path: str = "customers", key: str = "") -> Any:
    headers = CSV | ({"idempotency-key": key} if key else {})
    return program.send("POST", f"/imports/{path}", content=body, headers=headers)


def names(desk: Program) -> list[str]:
    return [item["name"] for item in desk.get("/customers")["items"]]


def test_a_dry_run_says_and_the_import_does(desk: Program) -> None:
    answer = send(desk, path="customers?dry_run=true")
    assert (answer.status_code, answer.json()) == (200, {"kind": "customers", "lines": 2, "dry_run": True})
    assert names(desk) == ["Ada Thorn"]
    answer = send(desk)
    assert (answer.status_code, answer.json()) == (200, {"kind": "customers", "lines": 2, "dry_run": False})
    assert names(desk) == ["Ada Thorn", "Bo Reed", "Cay Moss"]


def test_a_retry_is_answered_and_takes_nothing_in_twice(desk: Program) -> None:
    first, second = (send(desk, key="list 1") for _ in range(2))
    assert (second.status_code, second.json()) == (first.status_code, first.json())
    assert names(desk) == ["Ada Thorn", "Bo Reed", "Cay Moss"]
    assert send(desk, FILE + b"Di Fern;\r\n", key="list 1").status_code == 422


@pytest.mark.parametrize("path", ["customers", "customers?dry_run=true"])
def test_faults_are_said_by_line_and_column_and_nothing_is_kept(desk: Program, path: str) -> None:
    answer = send(desk, FILE + b";bo\r\nBo Again;BO@reed.example\r\n", path)
    assert answer.status_code == 422
    errors = {error["field"]: error["detail"] for error in answer.json()["errors"]}
    assert list(errors) == ["line 4, name", "line 4, email", "line 5, email"]
    assert "line 2 has it already" in errors["line 5, email"]
    assert names(desk) == ["Ada Thorn"]


@pytest.mark.parametrize(
    ("body", "field", "says"),
    [
        (b"", "line 1", "is empty"),
        (b"name\r\n", "line 1", "no line below"),
        (b"name;mood\r\nBo;good\r\n", "line 1, mood", "There is no column “mood”"),
        (FILE + b'"Di', "line 4", "a quote does not end"),
        (FILE + b"\xff;\r\n", "line 4", "not UTF-8"),
        (FILE + b"x" * MOST_FILE_BYTES, "body", "more than 8 MB"),
    ],
    ids=["empty", "no lines", "column", "quote", "encoding", "large"],
)
def test_what_is_no_such_file_is_refused(desk: Program, body: bytes, field: str, says: str) -> None:
    answer = send(desk, body)
    assert answer.status_code == 422
    (error,) = answer.json()["errors"]
    assert (error["field"], says in error["detail"]) == (field, True), error
    assert names(desk) == ["Ada Thorn"]


def test_only_a_key_of_the_desk_sends_lists_and_only_as_csv(desk: Program, program: Any) -> None:
    for scope in (Scope.READ, Scope.BENCH, Scope.SENSOR):
        assert send(program(scope)).status_code == 403
    assert send(desk, path="rods").status_code == 422
    assert send(desk, path="customers?dry_run=perhaps").status_code == 422
    wrong = desk.send("POST", "/imports/customers", content=FILE, headers={"content-type": "text/plain"})
    assert "Content-Type: text/csv" in wrong.json()["detail"]
    assert names(desk) == ["Ada Thorn"]
