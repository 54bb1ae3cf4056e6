"""Every table in one place, for migrations and for tests that walk them all."""

from shop.db.adhesives import Adhesive
from shop.db.blanks import Blank, Station
from shop.db.builds import Build
from shop.db.calendar_feeds import CalendarFeed
from shop.db.components import Component
from shop.db.cures import Cure, CureMove
from shop.db.customers import Customer
from shop.db.events import Event
from shop.db.keys import ApiKey, FirstAnswer
from shop.db.lots import Lot, LotEvent
from shop.db.make_ups import MakeUp
from shop.db.mixes import Mix, PuddleCheck, Serving, Suspicion
from shop.db.moments import SeenMoment
from shop.db.sequences import Hold, Sequence, Stage
from shop.db.shop import Change, ClockDoubt, Shop
from shop.db.status_links import StatusLink
from shop.db.turners import StoppedRod, Turner, TurnerCheck, TurnerStay, TurnerStop
from shop.db.types import Base
from shop.db.users import SignInAttempt, SignInSession, User
from shop.db.zones import Reading, Sensor, Zone

TABLES: tuple[type[Base], ...] = (
    Adhesive, Blank, Station, Build, Component, Cure, Customer, Event, ApiKey, FirstAnswer, MakeUp, Mix,
    PuddleCheck, Suspicion, Hold, Sequence, Stage, Change, ClockDoubt, Shop, StatusLink, SignInAttempt,
    SignInSession, User, Reading, Sensor, Zone, CalendarFeed, CureMove, Lot, LotEvent, Serving, SeenMoment,
    StoppedRod, Turner, TurnerCheck, TurnerStay, TurnerStop,
)  # fmt: skip
METADATA = Base.metadata
