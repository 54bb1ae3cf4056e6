"""How holds about parts, money and the customer's yes are judged.

Called by `shop.rules.decide`. What nobody counts or asked for holds nothing: a part without stock, a build
that was taken on without spec and quote.
"""

from collections.abc import Iterator

from shop.rules.facts import Facts, MoneyFact, PartFact
from shop.rules.holds import Case, ClearedBy, ShutHold
from shop.rules.make_up import FROM_THE_TIP
from shop.rules.sequences import HoldKind, Stage

# Which kind of part is glued at a place, of those that slide on from the tip.
GLUED_AT = {"rear grip": "grip", "fore grip": "grip", "reel seat": "reel seat", "reel seat arbor": "arbor"}


def judge_parts(case: Case) -> Iterator[ShutHold]:
    """The parts that the stage uses are set aside for the build; all of them, where the stage names none."""
    uses = case.stage.uses
    for part in case.facts.parts:
        if part.missing and (not uses or part.group in uses):
            yield ShutHold(HoldKind.PARTS, _missing(part), None, ClearedBy.WORK)


def _missing(part: PartFact) -> str:
    free = part.on_shelf or 0
    of = f" of {part.needed}" if part.missing < part.needed else ""
    shelf = f"{free} free on the shelf" if free else "none free on the shelf"
    verb = "is" if part.missing == 1 else "are"
    return f"{part.missing}{of} × {part.name} {verb} not set aside for this rod; {shelf}."


def are_held_against_the_rod(stage: Stage, facts: Facts) -> bool:
    """Whether somebody held every counted part that a stage uses against the rod; false where it has none.

    Of a stage that names none, all the counted parts of the rod.
    """
    asked = [
        part
        for part in facts.parts
        if part.needed and part.on_shelf is not None and (not stage.uses or part.group in stage.uses)
    ]
    return bool(asked) and all(part.is_confirmed for part in asked)


def judge_slide_on(case: Case) -> Iterator[ShutHold]:
    """Whatever slides on from the tip is on before this stage blocks its way.

    A part is on with the last stage that uses its kind or glues it in place.
    """
    ahead = [
        stage
        for stage in case.sequence.stages
        if stage.name != case.stage.name and stage.name not in case.facts.reached
    ]
    for part in case.facts.parts:
        if not part.needed or part.group not in FROM_THE_TIP:
            continue
        last = next((stage for stage in reversed(ahead) if part.group in _put_on_at(stage)), None)
        if last is not None:
            reason = (
                f"{part.name} slides on from the tip, at “{last.name}”; once this stage is done it can no "
                "longer be put on."
            )
            yield ShutHold(HoldKind.SLIDE_ON, reason, None, ClearedBy.NEVER)


def _put_on_at(stage: Stage) -> set[str]:
    """The kinds of part that a stage puts on the rod: what it uses, and what it glues."""
    return {*stage.uses, *(GLUED_AT[place] for place in stage.cure_places() if place in GLUED_AT)}


def judge_deposit(case: Case) -> Iterator[ShutHold]:
    """The deposit that was agreed is in."""
    money = case.facts.money
    if money is None:
        return
    if money.deposit_cents is None:
        reason = "No quote has been agreed, so nobody knows what the deposit is."
        yield ShutHold(HoldKind.DEPOSIT, reason, None, ClearedBy.PERSON)
    elif money.paid_cents < money.deposit_cents:
        yield _unpaid(HoldKind.DEPOSIT, "The deposit", money)


def judge_balance(case: Case) -> Iterator[ShutHold]:
    """All that was agreed is paid."""
    money = case.facts.money
    if money is None:
        return
    if money.total_cents is None:
        reason = "No quote has been agreed, so nobody knows what is to be paid."
        yield ShutHold(HoldKind.BALANCE, reason, None, ClearedBy.PERSON)
    elif money.paid_cents < money.total_cents:
        yield _unpaid(HoldKind.BALANCE, "The whole price", money)


def _unpaid(kind: HoldKind, what: str, money: MoneyFact) -> ShutHold:
    """Without the amounts, which are the desk's: the bench and a printed ticket show this sentence."""
    so_far = "been paid only in part" if money.paid_cents > 0 else "not been paid yet"
    return ShutHold(kind, f"{what} has {so_far}.", None, ClearedBy.PERSON)


def judge_approval(case: Case) -> Iterator[ShutHold]:
    """The customer has said yes to what is on file now."""
    said = case.facts.approval
    if said is None or (said.agreed is not None and said.agreed >= said.revision):
        return
    if said.quoted is None:
        reason = "No quote has been sent, so the customer has said yes to nothing."
    elif said.quoted < said.revision:
        reason = (
            f"The newest quote is for revision {said.quoted}; the spec is at revision {said.revision} now."
        )
    else:
        reason = f"The customer has not said yes to revision {said.revision}."
    yield ShutHold(HoldKind.APPROVAL, reason, None, ClearedBy.PERSON)
