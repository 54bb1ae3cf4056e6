"""A trial mail: sent now, to one address, so that an owner sees whether the settings of mail are right.

It is in no outbox and is tried once. Whoever waits for it holds no transaction and no turn to write.
"""

import asyncio
from datetime import datetime

from shop.outside.mail import Letter, Sending
from shop.queries.mail_settings import MailSettingsView, read_mail_settings
from shop.rules.mail_addresses import fault_of_address
from shop.rules.refusals import BadInput
from shop.services.mail_settings import DEMO
from shop.services.mails import new_message_id
from shop.web.deps import Hub
from shop.web.sending import mail_server

STEP_SECONDS = 10.0
# Until the server asks for the letter, and once more until it has answered.
MOST_SECONDS = 25.0


async def send_trial(hub: Hub, now: datetime, to_address: str, shop_name: str) -> str:
    """Send a trial mail by the settings as saved; gives what the server said on taking it.

    Raises `BadInput`, `MailFault`, and `OSError` where the password cannot be read.
    """
    settings = await hub.running.read(_read_settings, hub)
    if sentence := _why_not(hub, settings, to_address):
        raise BadInput({"to": sentence})
    letter = Letter(
        new_message_id(settings.from_address), now, settings.from_address, settings.from_name, to_address,
        f"A trial from {shop_name}",
        f"This is a trial mail from {shop_name}. Whoever can read it can be written to.\n",
    )  # fmt: skip
    trying = Sending(mail_server(hub, settings), letter, STEP_SECONDS, MOST_SECONDS, MOST_SECONDS)
    return await asyncio.to_thread(trying.run)


def _read_settings(hub: Hub) -> MailSettingsView:
    with hub.database.reading() as session:
        return read_mail_settings(session)


def _why_not(hub: Hub, settings: MailSettingsView, to_address: str) -> str:
    if hub.demo:
        return DEMO
    if not settings.host or not settings.from_address:
        return "Fill in the server and the shop's address first, and save them."
    return fault_of_address(to_address)
