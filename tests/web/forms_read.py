"""Reads a form off a page as a browser would, to send it back as it stands."""

from html.parser import HTMLParser


class _Form(HTMLParser):
    """Gathers the fields of the form that posts to one address."""

    def __init__(self, action: str) -> None:
        super().__init__()
        self.fields: dict[str, list[str]] = {}
        self._action = action
        self._inside = False
        self._text_of = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        said = {name: value or "" for name, value in attrs}
        if tag == "form":
            self._inside = said.get("action") == self._action and said.get("method") == "post"
        elif self._inside and tag == "input":
            self._input(said)
        elif self._inside and tag == "textarea":
            self._text_of = said["name"]
            self.fields.setdefault(said["name"], []).append("")

    def _input(self, said: dict[str, str]) -> None:
        ticked = said.get("type") not in ("radio", "checkbox") or "checked" in said
        if ticked:
            self.fields.setdefault(said["name"], []).append(said.get("value", ""))

    def handle_endtag(self, tag: str) -> None:
        if tag == "textarea":
            self._text_of = ""
        elif tag == "form":
            self._inside = False

    def handle_data(self, data: str) -> None:
        if self._text_of:
            self.fields[self._text_of][-1] += data


def form_on(page: str, action: str) -> dict[str, list[str]]:
    """Every field of the form that posts to `action`, empty where the page has no such form."""
    form = _Form(action)
    form.feed(page)
    return form.fields
