"""The same again: what has changed on the shelf since a rod was made, between its make-up and its copy's."""

from collections.abc import Iterator
from dataclasses import replace

from shop.rules.make_up import Bare, MakeUp, Sheet
from shop.rules.spec import Spec


def spec_for(spec: Spec, *, same_customer: bool) -> Spec:
    """The spec of a rod that is made again; the first customer's own words go to nobody else."""
    if same_customer:
        return spec
    return replace(spec, inscription="", inscription_again="", inscription_side="", wishes="", hand_size="")


def changed_since(before: MakeUp, after: MakeUp) -> tuple[str, ...]:
    """What is another than it was, in sentences: a make-up's copies against those of today's shelf."""
    return tuple(_changes(before, after))


def _changes(before: MakeUp, after: MakeUp) -> Iterator[str]:
    if before.blank != after.blank:
        yield _said("the blank", _name(before.blank), _name(after.blank))
    if [part.place for part in before.parts] != [part.place for part in after.parts]:
        yield "The handle has other parts than it had."
    for part in before.parts:
        now = after.part_at(part.place)
        if now is not None and part != now:
            yield _said(f"the {part.place}", part.name, now.name)
    if len(before.guides) != len(after.guides):
        yield f"There are {len(after.guides)} guides now, tip-top included; there were {len(before.guides)}."
    for number, (guide, now_guide) in enumerate(zip(before.guides, after.guides, strict=False), 1):
        if guide != now_guide:
            yield _said(f"row {number} of the guides", guide.name, now_guide.name)
    for what, old, new in (
        ("the bonding epoxy", before.bond, after.bond), ("the wrap finish", before.finish, after.finish)
    ):  # fmt: skip
        if old != new:
            yield _said(what, _name(old), _name(new))


def _name(copied: Bare | Sheet | None) -> str | None:
    return None if copied is None else copied.name


def _said(what: str, before: str | None, after: str | None) -> str:
    if before == after:
        return f"{what[0].upper()}{what[1:]}: {after} is on file with other figures than then."
    return f"{what[0].upper()}{what[1:]}: {after or 'none'} instead of {before or 'none'}."
