"""`publish`: the customers' pages as plain files, written while the shop's own server has its data open."""

import re
from pathlib import Path

import pytest
from sqlalchemy.orm import Session

from shop.commands.publishing import publish
from shop.outside.publishing import MARK, alone
from shop.queries.builds import build_record
from shop.queries.mail_settings import mail_settings_record
from shop.rules.people import ROLE_RIGHTS, Actor, Role
from shop.services.bench import Signer
from shop.services.messages import write_from_shop
from shop.services.photos import StoredPhoto, add_photos, share_photo
from shop.services.status_links import end_link, give_link
from shop.web.deps import Hub
from shop.web.published_news import published_files
from tests.commands.running import assert_refused, run
from tests.conftest import Hands
from tests.outside.photo_samples import encoded, plain
from tests.quote_shop import NUMBER, bench_of, fill_for_quotes

OTHER = "26-001"
LOADS = re.compile(r'(?:href|src)="(/[^"]+)"')


class Site:
    """A shop with two live links, one photo shared on the first rod and one kept back, and a folder."""

    def __init__(self, hub: Hub, hands: Hands, folder: Path) -> None:
        self.hub, self.folder, self.now = hub, folder, hands.wall_at
        self.data = hub.settings.data
        with hub.database.writing(self.now) as session:
            fill_for_quotes(session, self.now)
            self.tokens = {number: self._token(session, number) for number in (NUMBER, OTHER)}
            jpegs = {320: encoded(plain((320, 240))), 1280: encoded(plain((640, 480)))}
            for shared in (True, False):
                stored = StoredPhoto(hub.photos.put(jpegs), 640, 480, 1000)
                (photo_id,) = add_photos(session, NUMBER, bench_of(session, self.now), [stored])
                share_photo(session, photo_id, bench_of(session, self.now), shared=shared)
            signer = Signer(self.now, Actor("Nell", ROLE_RIGHTS[Role.OWNER]))
            write_from_shop(session, NUMBER, signer, text="between us")

    def _token(self, session: Session, number: str) -> str:
        return give_link(session, self.hub.secret, build_record(session, number).id, now=self.now)

    def publish(self) -> str:
        """Publish with the real command; gives its line."""
        done = run(self.data, "publish", str(self.folder))
        assert (done.status, done.err) == (0, "")
        return done.out

    def page(self, number: str) -> str:
        return (self.folder / "rod" / self.tokens[number] / "index.html").read_text()


@pytest.fixture
def site(hub: Hub, hands: Hands, tmp_path: Path) -> Site:
    return Site(hub, hands, tmp_path / "site")


def test_the_pages_of_live_links_are_published_and_ended_ones_removed(site: Site) -> None:
    first = site.publish()
    found = re.fullmatch(r"written (\d+), unchanged 0, removed 0\n", first)
    assert found is not None
    count = int(found[1])
    files = {path.relative_to(site.folder).as_posix() for path in site.folder.rglob("*") if path.is_file()}
    rods = {f"rod/{token}/index.html" for token in site.tokens.values()}
    photos = {f"rod/{site.tokens[NUMBER]}/photos/{name}" for name in ("1.jpg", "1-320.jpg")}
    blank = {"robots.txt", "index.html", "rod/index.html", MARK}
    assert {path for path in files if not path.startswith("static/")} == rods | photos | blank
    assert len(files) == count + 1
    assert site.publish() == f"written 0, unchanged {count}, removed 0\n"
    # Whatever a page asks for lies in the folder, at the address that a host would look at.
    for number in (NUMBER, OTHER):
        loads = {address.partition("?")[0] for address in LOADS.findall(site.page(number))}
        assert [address for address in loads if not (site.folder / address[1:]).is_file()] == []
        assert any(address.endswith(".css") for address in loads)
        other = site.tokens[OTHER if number == NUMBER else NUMBER]
        assert other not in site.page(number)
    for sheet in site.folder.rglob("*.css"):
        assert set(re.findall(r'url\("?([^")]+)', sheet.read_text())) <= {"#hatch", "#hatch-fine", "#dots"}
    page = site.page(NUMBER)
    assert 'content="noindex' in page
    for left_out in ("<form", "<script", "between us", "Ada Thorn", NUMBER):
        assert left_out not in page
    assert "ring the shop or write to it" in page
    for blank_page in ("index.html", "rod/index.html"):
        assert "href" not in (site.folder / blank_page).read_text()
    assert (site.folder / "robots.txt").read_text() == "User-agent: *\nDisallow: /\n"
    assert not [token for token in site.tokens.values() if token in (site.folder / MARK).read_text()]
    with site.hub.database.writing(site.now) as session:
        end_link(session, build_record(session, NUMBER).id, now=site.now)
        mail_settings_record(session).from_address = "rods@example.org"
    assert site.publish() == f"written 1, unchanged {count - 4}, removed 3\n"
    assert not (site.folder / "rod" / site.tokens[NUMBER]).exists()
    assert 'href="mailto:rods@example.org"' in site.page(OTHER)


def test_a_folder_of_somebody_else_is_refused_in_one_line(site: Site) -> None:
    site.folder.mkdir()
    letter = site.folder / "letter.txt"
    letter.write_text("mine")
    assert_refused(run(site.data, "publish", str(site.folder)), str(site.folder), "did not put there")
    assert [path.name for path in site.folder.iterdir()] == ["letter.txt"]
    assert letter.read_text() == "mine"


def test_a_photo_taken_away_while_it_is_published_is_left_out(
    site: Site, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = Path.replace

    def take_away(part: Path, target: Path) -> Path:
        for photo in (site.data / "photos").rglob("*.jpg"):
            photo.unlink()
        return real(part, target)

    # Its page has been put together by the time that the first file is written.
    monkeypatch.setattr(Path, "replace", take_away)
    monkeypatch.setenv("TACKFREE_DATA", str(site.data))
    publish(site.folder)
    assert "/photos/" not in site.page(NUMBER)
    assert not list(site.folder.rglob("*.jpg"))


def test_while_somebody_publishes_another_does_not(site: Site) -> None:
    with alone(site.folder):
        assert_refused(run(site.data, "publish", str(site.folder)), "just now")
    assert list(site.folder.iterdir()) == []
    site.publish()


def test_a_photo_whose_file_is_gone_is_left_out(site: Site) -> None:
    for path in (site.data / "photos").rglob("*-320.jpg"):
        path.unlink()
    with site.hub.database.reading() as session:
        files = published_files(site.hub, session, site.now)
    page = files[f"rod/{site.tokens[NUMBER]}/index.html"]().decode()
    assert "News of your rod" in page
    assert not [path for path in (*files, page) if "/photos/" in path]
