"""`publish`: the pages behind the live status links as plain files, for a web host that only gives files."""

from pathlib import Path
from typing import Annotated

import typer

from shop.commands.faults import CannotDo
from shop.commands.opening import opened
from shop.config import Settings
from shop.outside.publishing import Published, PublishFault, alone, publish_files
from shop.web.deps import Hub
from shop.web.published_news import published_files

MOST_TRIES = 3


def publish(
    folder: Annotated[Path, typer.Argument(help="The folder to be served: an empty one, or one of ours.")],
) -> None:
    """Write the customers' pages as plain files: what changed, and no more; ended links are removed."""
    with opened(Settings()) as hub:
        try:
            with alone(folder):
                done = _publish(hub, folder)
        except PublishFault as fault:
            raise CannotDo(str(fault)) from fault
        typer.echo(f"written {done.written}, unchanged {done.unchanged}, removed {done.removed}")


def _publish(hub: Hub, folder: Path, tries: int = MOST_TRIES) -> Published:
    """Gather the files and write them; anew if a photo was taken away between the two."""
    now = hub.clock.now()
    with hub.database.reading() as session:
        files = published_files(hub, session, now)
    try:
        return publish_files(folder, files)
    except FileNotFoundError:
        if tries == 1:
            raise
        return _publish(hub, folder, tries - 1)
