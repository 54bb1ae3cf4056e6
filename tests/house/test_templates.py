"""Every template compiles, finds what it includes and keeps to the strict content policy.

The policy allows no script or style inside a page and nothing from another host; a page that broke it
would look right in the file and be dead in the browser.
"""

import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
from jinja2 import meta

from shop.web.templating import ENVIRONMENT
from tests.house import tree

TEMPLATES = tree.templates()
STATIC = tree.ROOT / "static"
OUR_STYLES = sorted(path for path in (STATIC / "css").rglob("*.css"))
LOADING = {"src", "href", "srcset", "action", "poster", "data"}
JINJA = re.compile(r"\{#.*?#\}|\{%.*?%\}|\{\{.*?\}\}", re.DOTALL)
each_template = pytest.mark.parametrize("path", TEMPLATES, ids=str)


def source(path: Path) -> str:
    return (tree.ROOT / "templates" / path).read_text(encoding="utf-8")


class PolicyReader(HTMLParser):
    """Notes what a page with a strict content policy may not hold."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self._in_script = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._in_script = tag == "script"
        if tag == "style":
            self.found.append("<style>")
        for name, value in attrs:
            address = (value or "").strip().lower()
            if name == "style" or name.startswith(("on", "hx-on")):
                self.found.append(f"{tag} {name}")
            if name in LOADING and address.startswith(("http:", "https:", "//", "javascript:")):
                self.found.append(f"{tag} {name}={value}")

    def handle_endtag(self, tag: str) -> None:
        self._in_script = self._in_script and tag != "script"

    def handle_data(self, data: str) -> None:
        if self._in_script and data.strip():
            self.found.append(f"script: {data.strip()[:40]}")


def against_the_policy(text: str) -> list[str]:
    """What a template holds against the policy, its own expressions left out of the reading."""
    reader = PolicyReader()
    reader.feed(JINJA.sub(" ", text))
    reader.close()
    return reader.found


@pytest.mark.parametrize(
    "page",
    [
        '<p style="color: red">',
        '<button onclick="save()">',
        "<script>start()</script>",
        "<style>p { color: red }</style>",
        '<script src="https://example.org/a.js"></script>',
        '<a href="javascript:void(0)">',
        '<div {% if a > b %}class="x"{% endif %} style="{{ width }}">',
    ],
)
def test_each_breach_of_the_policy_is_noticed(page: str) -> None:
    assert len(against_the_policy(page)) == 1


@each_template
def test_a_template_compiles_and_finds_what_it_names(path: Path) -> None:
    ENVIRONMENT.get_template(str(path))
    named = meta.find_referenced_templates(ENVIRONMENT.parse(source(path)))
    assert [name for name in named if name is not None and Path(name) not in TEMPLATES] == []


@each_template
def test_a_template_keeps_to_the_content_policy(path: Path) -> None:
    assert against_the_policy(source(path)) == []


@each_template
def test_a_template_names_only_static_files_that_exist(path: Path) -> None:
    named = re.findall(r"""asset\(["']([^"']+)["']\)""", source(path))
    assert [name for name in named if not (STATIC / name).is_file()] == []


def test_every_template_is_used() -> None:
    by_templates = {
        name
        for path in TEMPLATES
        for name in meta.find_referenced_templates(ENVIRONMENT.parse(source(path)))
        if name is not None
    }
    by_code = "\n".join(module.source for module in tree.modules("shop"))
    assert [
        str(path) for path in TEMPLATES if str(path) not in by_templates and str(path) not in by_code
    ] == []


def test_style_sheets_load_nothing_from_another_host() -> None:
    assert OUR_STYLES
    loading = re.compile(r"@import|url\(\s*['\"]?(?:https?:)?//")
    assert [path.name for path in OUR_STYLES if loading.search(path.read_text(encoding="utf-8"))] == []
