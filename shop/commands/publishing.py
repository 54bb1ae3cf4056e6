"""`publish`: the pages behind the live status links as plain files, for a web host that only gives files."""

from pathlib import Path
from typing import Annotated

import typer

from shop.commands.faults import CannotDo
from shop.commands.opening import opened
from shop.config import Settings
from shop.outside.publishing import PublishFault, publish_files
from shop.web.published_news import published_files


def publish(
    folder: Annotated[Path, typer.Argument(help="The folder to be served: an empty one, or one of ours.")],
) -> None:
    """Write the customers' pages as plain files: what changed, and no more; ended links are removed."""
    with opened(Settings()) as hub:
        now = hub.clock.now()
        with hub.database.reading() as session:
            files = published_files(hub, session, now)
        try:
            done = publish_files(folder, files)
        except PublishFault as fault:
            raise CannotDo(str(fault)) from fault
        typer.echo(f"written {done.written}, unchanged {done.unchanged}, removed {done.removed}")
