"""The make-up of a build as its page shows it: finished values for the template."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from shop.db.sessions import Session
from shop.queries.adhesives import adhesives_by_name
from shop.queries.builds import BuildView
from shop.queries.components import components_by_kind
from shop.queries.make_ups import MakeUpView, RevisionLine, bare_blank, revisions_of
from shop.rules.bench_figures.base import BenchSheet
from shop.rules.components import KINDS
from shop.rules.make_up import GUIDE, TIP_TOP
from shop.rules.sequences import FIGURES, PLACES
from shop.web.benches import BenchSide
from shop.web.curves import draw_curves
from shop.web.figures import figure_groups
from shop.web.make_up_form import SPARE_GUIDES, SPARE_PARTS, WAY_FIELDS, GuideRow, PartRow
from shop.web.scale import draw_handle, draw_to_scale
from shop.web.sheets import marked
from shop.web.templating import Frame
from shop.web.wording import both_units, when

PLACE_NAMES = (*PLACES[:3], "winding check", "reel seat arbor", "butt cap", "keeper")
ON_THE_SHELF_ALONE = frozenset({"thread", GUIDE, TIP_TOP})


@dataclass(frozen=True)
class MakeUpRows:
    """What the form shows: the rows as typed or as on file, and whether they may be changed."""

    parts: list[PartRow]
    guides: list[GuideRow]
    may_change: bool


def make_up_context(
    page: Frame,
    session: Session,
    bench: BenchSide,
    build: BuildView,
    shown: MakeUpView | None,
    rows: MakeUpRows,
) -> dict[str, Any]:
    """Everything that `pages/make_up.html` needs but its form."""
    measured = bench.row_of(session, build).facts.measured
    sheet = BenchSheet() if shown is None else page.hub.sheets.of(shown.id, shown.value)
    revisions = revisions_of(session, build.id)
    return {
        "build": build,
        "shown": shown,
        "next_revision": max((line.revision for line in revisions), default=0) + 1,
        "may_change": rows.may_change,
        "said_of_blank": _blank_words(session, build, shown),
        "parts": rows.parts + [PartRow()] * SPARE_PARTS,
        "guides": rows.guides + [GuideRow()] * SPARE_GUIDES,
        "place_names": PLACE_NAMES,
        "way_fields": WAY_FIELDS,
        "groups": figure_groups(sheet, FIGURES, measured),
        "drawing": None if shown is None else draw_to_scale(shown.value),
        "handle": None if shown is None else draw_handle(shown.value),
        "curves": None if sheet.bent is None else draw_curves(sheet.bent),
        "revisions": [_revision_words(line, bench.now, page.zone) for line in revisions],
        "is_latest": shown is None or shown.revision == max((r.revision for r in revisions), default=0),
        **_choices(session),
    }


def _choices(session: Session) -> dict[str, Any]:
    components, adhesives = components_by_kind(session), adhesives_by_name(session)
    return {
        "part_options": [
            (kind, [(f"{item.id}", item.name) for item in components if item.kind == kind])
            for kind in KINDS
            if kind not in ON_THE_SHELF_ALONE
        ],
        "guide_options": [(f"{item.id}", item.name) for item in components if item.kind in (GUIDE, TIP_TOP)],
        **{
            name: [
                ("", "none chosen"),
                *((f"{a.id}", marked(a.name, a.sheet_mark)) for a in adhesives if a.use == use),
            ]
            for name, use in (("bonds", "bond"), ("finishes", "finish"))
        },
    }


def _blank_words(session: Session, build: BuildView, shown: MakeUpView | None) -> str:
    """What the make-up rests on; said plainly where the blank on file is not what was copied."""
    bare = bare_blank(session, build.blank_id)
    if bare is None:
        return "No blank is chosen for this rod yet, so nothing can be worked out along it."
    words = f"{bare.name}, {both_units(bare.length_nm)}, {len(bare.stations)} stations measured."
    if shown is not None and shown.value.blank != bare:
        words += " It has changed on file since this revision; save the make-up to go by what is there now."
    return words


def _revision_words(line: RevisionLine, now: datetime, zone: ZoneInfo) -> tuple[int, str]:
    why = f": {line.reason}" if line.reason else ""
    return line.revision, f"{when(line.entered_at, now, zone)}, {line.by}{why}"
