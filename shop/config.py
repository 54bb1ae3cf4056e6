"""Settings, read from environment variables that begin with `TACKFREE_`."""

from pathlib import Path

from pydantic import Field
from pydantic_settings import BaseSettings, SettingsConfigDict


class Settings(BaseSettings):
    """What a shop may set from outside. Everything else is edited on the pages of the program.

    `data` is the folder of the embedded database and the secret file; `database_url` names another
    database; `public_url` is the address that status links are given with; `secure_cookies` should be on
    wherever the pages are served over https; `mqtt_url` is the broker at which sensors publish;
    `smtp_password` is the mail server's, where it is not to lie in the data folder.
    """

    model_config = SettingsConfigDict(env_prefix="TACKFREE_")

    data: Path = Field(default=Path("tackfree-data"))
    database_url: str = ""
    public_url: str = ""
    mqtt_url: str = Field(default="", repr=False)
    smtp_password: str = Field(default="", repr=False)
    secure_cookies: bool = False
    password_time_cost: int = Field(default=3, ge=1, le=20)
    password_memory_kib: int = Field(default=65536, ge=8, le=1_048_576)

    def url(self) -> str:
        """The database's URL: the one that was set, or that of the embedded file."""
        return self.database_url or f"sqlite:///{self.data / 'tackfree.sqlite3'}"
