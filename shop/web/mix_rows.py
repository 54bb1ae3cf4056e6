"""A mix in the cells of a table: what it is, until when it may be used, what it was measured out from."""

from typing import Any

from shop.db.sessions import Session
from shop.queries.lots import lot_fact
from shop.queries.mixes import MixView
from shop.web.benches import BenchSide
from shop.web.sheets import marked
from shop.web.templating import Frame
from shop.web.wording import span, when


def mix_row(mix: MixView, page: Frame, bench: BenchSide) -> list[Any]:
    """The cells of one row; the first leads to the mix."""
    now, zone = bench.now, page.zone
    left = mix.pot_life_ends_at - now
    state = f"{span(left)} left" if left.total_seconds() > 0 else "pot life over"
    if mix.suspect:
        state = f"{state}, under suspicion"
    name = marked(f"{mix.adhesive}, {when(mix.mixed_at, now, zone)}", mix.sheet_mark)
    text = {"text": name, "href": f"/mixes/{mix.id}"}
    return [text, mix.by, when(mix.pot_life_ends_at, now, zone), state, mix.puddle or "not touched yet"]


def cup_pairs(session: Session, mix: MixView) -> list[tuple[str, str, str]]:
    """What a cup was measured out from, as label, words and where they lead; only what was said."""
    pairs = []
    parts = (("A", mix.lot_a_id, mix.amount_a_ml), ("B", mix.lot_b_id, mix.amount_b_ml))
    for part, lot_id, amount in parts:
        if amount is not None:
            pairs.append((f"Part {part}", f"{amount:.1f} mL", ""))
        if lot_id is not None:
            number = lot_fact(session, lot_id).number
            pairs.append((f"Lot of part {part}", number, f"/shelf/lots/{lot_id}"))
    if mix.planned_minutes is not None:
        pairs.append(("Planned", f"{mix.planned_minutes:.0f} min", ""))
    for item in mix.releases:
        pairs.append(
            (f"Released by {item['by']}", f"{' '.join(item.get('faults', ()))} {item['reason']}", "")
        )
    return pairs
