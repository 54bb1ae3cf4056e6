"""Every table in one place, for migrations and for tests that walk them all."""

from shop.db.adhesives import Adhesive, SheetChange
from shop.db.blanks import Blank, Station
from shop.db.build_parts import BuildPart
from shop.db.builds import Build
from shop.db.calendar_feeds import CalendarFeed
from shop.db.components import Component
from shop.db.cures import Cure, CureMove
from shop.db.customers import Customer
from shop.db.deliveries import Delivery
from shop.db.events import Event
from shop.db.intakes import Intake
from shop.db.keys import ApiKey, FirstAnswer
from shop.db.lots import Lot, LotEvent
from shop.db.mails import Mail, MailSettings, MailTemplate
from shop.db.make_ups import MakeUp
from shop.db.messages import Message
from shop.db.mixes import Mix, PuddleCheck, Serving, Suspicion
from shop.db.moments import SeenMoment
from shop.db.payments import Payment
from shop.db.photos import Photo
from shop.db.promises import Promise
from shop.db.quotes import Quote, QuoteAnswer
from shop.db.returns import Return
from shop.db.sequences import Hold, Sequence, Stage
from shop.db.shop import Change, ClockDoubt, Shop
from shop.db.specs import Spec
from shop.db.status_links import StatusLink
from shop.db.stocks import Stock, StockMove
from shop.db.suppliers import Supplier
from shop.db.tax_rules import TaxRule
from shop.db.turners import StoppedRod, Turner, TurnerCheck, TurnerStay, TurnerStop
from shop.db.types import Base
from shop.db.users import SignInAttempt, SignInSession, User
from shop.db.zones import Reading, Sensor, Zone

TABLES: tuple[type[Base], ...] = (
    Adhesive, Blank, Station, Build, Component, Cure, Customer, Event, ApiKey, FirstAnswer, MakeUp, Mix,
    PuddleCheck, Suspicion, Hold, Sequence, Stage, Change, ClockDoubt, Shop, StatusLink, SignInAttempt,
    SignInSession, User, Reading, Sensor, Zone, CalendarFeed, CureMove, Lot, LotEvent, Serving, SeenMoment,
    StoppedRod, Turner, TurnerCheck, TurnerStay, TurnerStop, SheetChange,
    Intake, Mail, MailSettings, MailTemplate, Message, Payment, Photo, Promise, Quote, QuoteAnswer, Return,
    Spec, BuildPart, Delivery, Stock, StockMove, Supplier, TaxRule,
)  # fmt: skip
METADATA = Base.metadata
