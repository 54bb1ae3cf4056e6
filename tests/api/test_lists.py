"""Lists are read by key: `next` of one page is the `after` of the next, until it is null."""

from typing import Any

import pytest

from tests.api.conftest import Program


def walk(desk: Program, path: str, limit: int) -> tuple[list[Any], int]:
    """Every item of a list and how many pages it took."""
    items: list[Any] = []
    query: dict[str, Any] = {"limit": limit}
    for pages in range(1, 50):
        page = desk.get(path, **query)
        assert set(page) == {"items", "next"}
        items += page["items"]
        if page["next"] is None:
            return items, pages
        assert isinstance(page["next"], str)
        assert len(page["items"]) == limit
        query["after"] = page["next"]
    raise AssertionError("the list does not end")


@pytest.mark.parametrize(("limit", "pages"), [(1, 7), (2, 4), (3, 3), (6, 2), (7, 1), (8, 1), (200, 1)])
def test_a_list_is_walked_to_its_end(desk: Program, limit: int, pages: int) -> None:
    for number in range(6):
        desk.post("/customers", name=f"Customer {number}")
    items, taken = walk(desk, "/customers", limit)
    assert [item["id"] for item in items] == [1, 2, 3, 4, 5, 6, 7]
    assert taken == pages


def test_builds_and_mixes_are_walked_too(desk: Program) -> None:
    numbers = [desk.build() for _ in range(3)]
    mixes = [desk.post("/mixes", adhesive_id=1, zone_id=1)["id"] for _ in range(3)]
    assert [item["number"] for item in walk(desk, "/builds", 2)[0]] == numbers
    assert [item["id"] for item in walk(desk, "/mixes", 2)[0]] == mixes


def test_what_is_added_meanwhile_moves_no_page(desk: Program) -> None:
    for number in range(3):
        desk.post("/customers", name=f"Customer {number}")
    first = desk.get("/customers", limit=2)
    desk.post("/customers", name="Late")
    rest = desk.get("/customers", limit=200, after=first["next"])
    assert [item["id"] for item in first["items"] + rest["items"]] == [1, 2, 3, 4, 5]


def test_an_empty_list_has_no_next(desk: Program) -> None:
    assert desk.get("/mixes") == {"items": [], "next": None}
    assert desk.get("/customers", after=2**31 - 1) == {"items": [], "next": None}


@pytest.mark.parametrize("path", ["/customers?afer=3", "/bench?limit=1", "/builds/26-001/next?after=1"])
def test_a_parameter_that_the_call_does_not_have_is_refused(desk: Program, path: str) -> None:
    desk.build()
    response = desk.send("GET", path)
    assert response.status_code == 422
    assert response.json()["errors"][0]["detail"] == "There is no such parameter in this call."


@pytest.mark.parametrize("path", ["/customers", "/builds", "/mixes"])
@pytest.mark.parametrize(
    "query",
    [
        {"limit": 0}, {"limit": -1}, {"limit": 201}, {"limit": "all"}, {"limit": ""}, {"limit": 2**64},
        {"after": -1}, {"after": "first"}, {"after": 2**31}, {"after": 2**64}, {"after": "1" * 5000},
    ],
)  # fmt: skip
def test_limit_and_after_have_bounds(desk: Program, path: str, query: dict[str, Any]) -> None:
    response = desk.send("GET", path, params=query)
    assert (response.status_code, response.headers["content-type"]) == (422, "application/problem+json")
    assert [error["field"] for error in response.json()["errors"]] == list(query)
