"""What is true of every decision: time never shuts what it opened, releases never open chemistry, and the
answer depends on nothing but what it is given."""

from dataclasses import replace
from datetime import timedelta
from random import Random

from hypothesis import given
from hypothesis import strategies as st

from shop.rules.decide import ClearedBy, decide
from shop.rules.facts import CureFact, Facts, Recheck, Suspect, Tick, ZoneFact
from shop.rules.puddles import PuddleState, Touch, is_in_doubt
from shop.rules.ready_made import READY_MADE
from shop.rules.sequences import HOUSE_RULES, Hold, HoldKind, Sequence, Stage
from tests.rules.builders import CLOSED, reached

PLACES = ("rear grip", "reel seat", "fore grip", "guide wraps", "butt cap", "underwrap")
MINUTES = st.integers(0, 20_000).map(lambda count: timedelta(minutes=count))


@st.composite
def cures(draw: st.DrawFn, number: int) -> CureFact:
    """Any cure whose times come in their natural order."""
    closed_at = CLOSED + draw(MINUTES)
    sets, hardens = sorted((draw(MINUTES), draw(MINUTES)))
    opens, shuts = sorted((draw(MINUTES), draw(MINUTES)))
    stalled = draw(st.sampled_from(("no", "no", "full", "both")))
    has_window = draw(st.booleans())
    return CureFact(
        id=number, place=draw(st.sampled_from(PLACES)), adhesive="Riverbed", closed_at=closed_at,
        set_at=None if stalled == "both" else closed_at + sets,
        full_at=None if stalled != "no" else closed_at + hardens,
        recoat_from=closed_at + opens if has_window and stalled == "no" else None,
        recoat_until=closed_at + shuts if has_window and stalled == "no" else None,
        has_recoat_window=has_window,
        pot_life_ends_at=closed_at + draw(st.sampled_from((timedelta(minutes=-1), timedelta(hours=1)))),
        tacky=draw(st.booleans()), failed=draw(st.booleans()), zone="bench",
        mixing_c=draw(st.sampled_from((5.0, 13.0, 21.0))),
    )  # fmt: skip


@st.composite
def facts(draw: st.DrawFn) -> Facts:
    """Any facts about a build of a ready-made sequence."""
    names = sorted({stage.name for sequence in READY_MADE for stage in sequence.stages})
    people = st.sampled_from(("Nell", "Ott"))
    ticks = st.builds(Tick, st.sampled_from(("prep", "orientation", "condition list signed")), people)
    again = st.builds(
        Recheck, st.sampled_from(("orientation", "list")), st.just("s"), st.sampled_from(PLACES)
    )
    return Facts(
        reached=reached(*draw(st.lists(st.sampled_from(names), max_size=12)), at=CLOSED + draw(MINUTES)),
        cures=tuple(draw(cures(number)) for number in range(draw(st.integers(0, 6)))),
        ticks=tuple(draw(st.lists(ticks, max_size=3))),
        suspects=tuple(draw(st.lists(st.just(Suspect(1, "Riverbed", "It is soft.")), max_size=1))),
        clock_doubt=draw(st.sampled_from(("", "The clock jumped."))),
        mixing_zone=draw(st.sampled_from((None, ZoneFact("bench", 5.0, 13.0)))),
        rechecks=tuple(draw(st.lists(again, max_size=2))),
        redone=frozenset(draw(st.lists(st.sampled_from(PLACES), max_size=2))),
        who=draw(st.sampled_from((None, "Nell", "Ott"))),
    )


@st.composite
def questions(draw: st.DrawFn) -> tuple[Sequence, str]:
    """Any stage of any ready-made sequence."""
    sequence = draw(st.sampled_from(READY_MADE))
    return sequence, draw(st.sampled_from(sequence.stages)).name


@given(questions(), facts(), MINUTES, MINUTES)
def test_time_never_shuts_again_what_has_set(
    question: tuple[Sequence, str], known: Facts, first: timedelta, more: timedelta
) -> None:
    def waiting(now: timedelta) -> list[str]:
        holds = decide(question[0], known, question[1], CLOSED + now).holds
        return [hold.reason for hold in holds if hold.kind in (HoldKind.SET, HoldKind.FULL_CURE)]

    assert set(waiting(first + more)) <= set(waiting(first))


@given(questions(), facts(), MINUTES, st.sets(st.sampled_from(list(HoldKind))))
def test_a_release_never_opens_chemistry(
    question: tuple[Sequence, str], known: Facts, now: timedelta, kinds: set[HoldKind]
) -> None:
    sequence, target = question
    before = decide(sequence, known, target, CLOSED + now)
    released = replace(known, releases=frozenset((target, kind) for kind in kinds))
    after = decide(sequence, released, target, CLOSED + now)
    kept = [hold for hold in before.holds if hold.kind not in HOUSE_RULES & kinds or hold.already]
    assert list(after.holds) == kept


@given(questions(), facts(), MINUTES, st.randoms(use_true_random=False))
def test_a_decision_is_deterministic_and_the_order_of_the_facts_does_not_matter(
    question: tuple[Sequence, str], known: Facts, now: timedelta, chance: Random
) -> None:
    sequence, target = question
    answer = decide(sequence, known, target, CLOSED + now)
    assert decide(sequence, known, target, CLOSED + now) == answer
    shuffled = list(known.cures)
    chance.shuffle(shuffled)
    turned = replace(known, cures=tuple(shuffled), ticks=known.ticks[::-1])
    assert decide(sequence, turned, target, CLOSED + now) == answer


@given(questions(), facts(), MINUTES)
def test_what_clears_by_time_names_an_instant_ahead_and_is_clear_from_then_on(
    question: tuple[Sequence, str], known: Facts, now: timedelta
) -> None:
    sequence, target = question
    for hold in decide(sequence, known, target, CLOSED + now).holds:
        assert (hold.clears_at is not None) == (hold.cleared_by is ClearedBy.TIME)
        if hold.clears_at is not None:
            assert hold.clears_at > CLOSED + now
            assert hold not in decide(sequence, known, target, hold.clears_at).holds
            just_before = hold.clears_at - timedelta(microseconds=1)
            assert hold in decide(sequence, known, target, just_before).holds


@given(questions(), facts(), MINUTES)
def test_a_build_is_free_once_it_is_ready(
    question: tuple[Sequence, str], known: Facts, now: timedelta
) -> None:
    sequence, target = question
    decision = decide(sequence, known, target, CLOSED + now)
    assert decision.allowed == (decision.holds == ())
    windowed = decision.stage is not None and any(h.kind is HoldKind.RECOAT for h in decision.stage.holds)
    # While one waits for something else, a recoat window may shut; then it takes the preparing.
    if decision.ready_at is not None and not windowed:
        assert decide(sequence, known, target, decision.ready_at).allowed


@given(questions(), facts(), MINUTES)
def test_a_failed_cure_is_as_good_as_none(
    question: tuple[Sequence, str], known: Facts, now: timedelta
) -> None:
    sequence, target = question
    counted = replace(known, cures=tuple(cure for cure in known.cures if not cure.failed))
    assert decide(sequence, counted, target, CLOSED + now) == decide(sequence, known, target, CLOSED + now)


SETS, HARDENS = Hold(HoldKind.SET, places=PLACES), Hold(HoldKind.FULL_CURE, places=PLACES)
ONE_STAGE = Sequence("one stage", "casting", (Stage("held", holds=(SETS, HARDENS)),))
TOUCHES = st.builds(Touch, st.sampled_from(PuddleState), MINUTES.map(lambda later: CLOSED + later))


@given(st.data(), st.lists(TOUCHES, min_size=1, max_size=6), MINUTES)
def test_a_tacky_puddle_keeps_every_cure_of_its_mix_shut_until_it_is_firm(
    data: st.DataObject, touches: list[Touch], later: timedelta
) -> None:
    drawn = [replace(data.draw(cures(n)), place=place, failed=False) for n, place in enumerate(PLACES)]
    of_mix = [replace(cure, pot_life_ends_at=cure.closed_at) for cure in drawn]
    set_times = [cure.set_at for cure in of_mix]

    def shut(entered: list[Touch]) -> set[tuple[HoldKind, str]]:
        # Entered in any order: the last touch counts, and of two at one instant the last entered.
        last = max(enumerate(entered), key=lambda entry: (entry[1].at, entry[0]))[1]
        doubted = is_in_doubt(set_times, last)
        known = Facts(cures=tuple(replace(cure, tacky=doubted) for cure in of_mix))
        holds = decide(ONE_STAGE, known, "held", max(touch.at for touch in touches) + later).holds
        return {(h.kind, place) for h in holds for place in PLACES if f"the {place} " in h.reason}

    last_at = max(touch.at for touch in touches)
    is_due = any(at is not None and at <= last_at for at in set_times)
    everything = {(kind, place) for kind in (HoldKind.SET, HoldKind.FULL_CURE) for place in PLACES}
    tacky, firm = Touch(PuddleState.TACKY, last_at), Touch(PuddleState.FIRM, last_at)
    if is_due:
        assert shut([*touches, tacky]) == everything
        assert shut([tacky, *[touch for touch in touches if touch.at < last_at]]) == everything
    assert shut([*touches, tacky, firm]) == shut([firm]), "a firm one leaves what time holds, and no more"
