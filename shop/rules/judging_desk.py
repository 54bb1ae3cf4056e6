"""How holds about parts, money and the customer's yes are judged.

Called by `shop.rules.decide`. What nobody counts or asked for holds nothing: a part without stock, a build
that was taken on without spec and quote.
"""

from collections.abc import Iterator

from shop.craft.saying import say_money
from shop.rules.facts import MoneyFact, PartFact
from shop.rules.holds import Case, ClearedBy, ShutHold
from shop.rules.make_up import FROM_THE_TIP
from shop.rules.sequences import HoldKind


def judge_parts(case: Case) -> Iterator[ShutHold]:
    """The parts that the stage uses are set aside for the build; all of them, where the stage names none."""
    uses = case.stage.uses
    for part in case.facts.parts:
        if part.missing and (not uses or part.group in uses):
            yield ShutHold(HoldKind.PARTS, _missing(part), None, ClearedBy.WORK)


def _missing(part: PartFact) -> str:
    free = part.on_shelf or 0
    of = f" of {part.needed}" if part.missing < part.needed else ""
    shelf = f"{free} on the shelf" if free else "none on the shelf"
    verb = "is" if part.missing == 1 else "are"
    return f"{part.missing}{of} × {part.name} {verb} not set aside for this rod; {shelf} that no rod has."


def judge_slide_on(case: Case) -> Iterator[ShutHold]:
    """Whatever slides on from the tip is on before this stage blocks its way."""
    for stage in case.sequence.stages:
        if stage.name == case.stage.name or stage.name in case.facts.reached:
            continue
        waiting = [
            part for part in case.facts.parts if part.group in stage.uses and part.group in FROM_THE_TIP
        ]
        for part in waiting:
            reason = (
                f"{part.name} slides on from the tip, at “{stage.name}”; once this stage is done it can no "
                "longer be put on."
            )
            yield ShutHold(HoldKind.SLIDE_ON, reason, None, ClearedBy.NEVER)


def judge_deposit(case: Case) -> Iterator[ShutHold]:
    """The deposit that was agreed is in."""
    money = case.facts.money
    if money is None:
        return
    if money.deposit_cents is None:
        reason = "No quote has been agreed, so nobody knows what the deposit is."
        yield ShutHold(HoldKind.DEPOSIT, reason, None, ClearedBy.PERSON)
    elif money.paid_cents < money.deposit_cents:
        yield _unpaid(HoldKind.DEPOSIT, "deposit", money.deposit_cents, money)


def judge_balance(case: Case) -> Iterator[ShutHold]:
    """All that was agreed is paid."""
    money = case.facts.money
    if money is None:
        return
    if money.total_cents is None:
        reason = "No quote has been agreed, so nobody knows what is to be paid."
        yield ShutHold(HoldKind.BALANCE, reason, None, ClearedBy.PERSON)
    elif money.paid_cents < money.total_cents:
        yield _unpaid(HoldKind.BALANCE, "whole price", money.total_cents, money)


def _unpaid(kind: HoldKind, what: str, due_cents: int, money: MoneyFact) -> ShutHold:
    due, paid = say_money(due_cents), say_money(money.paid_cents)
    reason = f"The {what} of {due} {money.currency} is not in: {paid} {money.currency} has been paid."
    return ShutHold(kind, reason, None, ClearedBy.PERSON)


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
