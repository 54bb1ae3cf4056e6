"""What is remembered until anybody commits: asked once, asked again after, never kept for too long."""

from collections.abc import Callable

from shop.web.deps import Hub
from shop.web.memory import Memory
from tests.conftest import Hands


def counting() -> Callable[[], int]:
    """Gives 1, then 2, and so on: how often it was asked."""
    asked: list[None] = []

    def read() -> int:
        asked.append(None)
        return len(asked)

    return read


def test_a_thing_is_read_once_until_somebody_commits(hub: Hub, hands: Hands) -> None:
    memory, read = Memory(hub.database), counting()
    assert [memory.recall("a", read), memory.recall("a", read)] == [1, 1]
    with hub.database.writing(hands.wall_at):
        pass
    assert [memory.recall("a", read), memory.recall("a", read)] == [2, 2]


def test_what_was_begun_before_a_commit_is_not_kept_as_of_after_it(hub: Hub, hands: Hands) -> None:
    memory, builds, warmth = Memory(hub.database), counting(), counting()

    def strip() -> tuple[int, int]:
        first = memory.recall("builds", builds)
        with hub.database.writing(hands.wall_at):
            pass
        return first, memory.recall("warmth", warmth)

    assert memory.recall("strip", strip) == (1, 1)
    again = memory.recall("strip", lambda: (memory.recall("builds", builds), memory.recall("warmth", warmth)))
    assert again == (2, 1)


def test_a_thing_made_of_others_is_kept_where_nobody_committed(hub: Hub) -> None:
    memory, inner, outer = Memory(hub.database), counting(), counting()
    for _ in range(2):
        assert memory.recall("outer", lambda: (outer(), memory.recall("inner", inner))) == (1, 1)
