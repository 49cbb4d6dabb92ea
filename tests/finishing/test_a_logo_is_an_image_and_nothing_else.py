"""The shop's logo: PNG or JPEG within limits, written anew without what came along, and printed on quotes."""

from __future__ import annotations

import io
import zlib
from struct import pack

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from PIL import Image
from PIL.PngImagePlugin import PngInfo

from finishing.documents.letterhead import Letterhead
from finishing.documents.pdf import document
from finishing.logo import KEPT_SIDE, MOST_BYTES, LogoRefusedError, clean_logo
from finishing.models import Shop, ShopLogo, User
from finishing.roles import Role

SECRET = b"carried along"


def picture(form: str = "PNG", size: tuple[int, int] = (120, 40), mode: str = "RGB", **options: object) -> bytes:
    written = io.BytesIO()
    Image.new(mode, size, "red" if mode.startswith("RGB") else 0).save(written, form, **options)
    return written.getvalue()


def with_text() -> bytes:
    info = PngInfo()
    info.add_text("Comment", SECRET.decode())
    return picture(pnginfo=info)


def huge_head() -> bytes:
    """A PNG of a few bytes that says it is 60,000 pixels wide."""
    head = b"IHDR" + pack(">IIBBBBB", 60_000, 60_000, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + pack(">I", 13) + head + pack(">I", zlib.crc32(head))


@pytest.mark.parametrize("form", ["PNG", "JPEG"])
def test_either_kind_is_kept_as_png(form: str) -> None:
    kept = clean_logo(picture(form))
    with Image.open(io.BytesIO(kept.png)) as read:
        assert (read.format, read.size, (kept.width, kept.height)) == ("PNG", (120, 40), (120, 40))
        red, green, _ = read.convert("RGB").getpixel((60, 20))  # type: ignore[misc]
    assert red > 240 > 20 > green


@pytest.mark.parametrize("content", [with_text(), picture("JPEG", comment=SECRET), picture() + SECRET])
def test_what_came_along_is_left_behind(content: bytes) -> None:
    assert SECRET in content
    assert SECRET not in clean_logo(content).png


def test_what_shines_through_stays_so() -> None:
    with Image.open(io.BytesIO(clean_logo(picture(mode="RGBA")).png)) as read:
        assert read.mode == "RGBA"


def test_a_large_picture_is_made_smaller_without_being_stretched() -> None:
    kept = clean_logo(picture(size=(2400, 600)))
    assert (kept.width, kept.height) == (KEPT_SIDE, KEPT_SIDE // 4)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "is empty"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'><script/></svg>", "no PNG or JPEG"),
        (b"%PDF-1.7 nothing", "no PNG or JPEG"),
        (picture("GIF", mode="P"), "no PNG or JPEG"),
        (picture("TIFF"), "no PNG or JPEG"),
        (picture(size=(400, 400))[:200], "no PNG or JPEG"),
        (picture("JPEG", size=(400, 400))[:300], "no PNG or JPEG"),
        (picture(size=(8, 40)), "8 by 40 pixels"),
        (picture(size=(4001, 20)), "4,001 by 20 pixels"),
        (huge_head(), "PNG or JPEG|pixels"),
        (b"\x89PNG" + bytes(MOST_BYTES), "up to 1,000 kB"),
    ],
)
def test_anything_else_is_refused(content: bytes, words: str) -> None:
    with pytest.raises(LogoRefusedError, match=words):
        clean_logo(content)


def test_a_document_with_a_logo_holds_the_picture() -> None:
    def made(logo: bytes) -> bytes:
        return document(title="Quote", letterhead=Letterhead(name="Shop", logo=logo), page_size="A4", story=[])

    assert b"/Subtype /Image" not in made(b"")
    assert b"/Subtype /Image" in made(clean_logo(picture()).png)


@pytest.fixture
def owner(client: Client) -> Client:
    user = User.objects.create_user("boss", password="long enough to be one")
    user.is_owner = True
    user.save()
    assert Role.OWNER in user.roles
    client.force_login(user)
    return client


def upload(browser: Client, content: bytes, name: str = "logo.png") -> object:
    return browser.post(reverse("shop_logo"), {"sent": "1", "file": SimpleUploadedFile(name, content)})


@pytest.mark.django_db
def test_the_owner_gives_and_removes_it(owner: Client) -> None:
    assert "up to 1,000 kB" in owner.get(reverse("shop_logo")).text
    upload(owner, picture())
    upload(owner, picture(size=(60, 60)))
    kept = ShopLogo.objects.get()
    assert (kept.width, kept.height, bytes(kept.data)[:4]) == (60, 60, b"\x89PNG")
    assert "data:image/png;base64," in owner.get(reverse("shop_logo")).text
    owner.post(reverse("shop_logo_remove"))
    assert ShopLogo.current() is None


@pytest.mark.django_db
def test_a_file_that_only_says_it_is_a_picture_is_refused_at_its_field(owner: Client) -> None:
    answer = upload(owner, b"<html>not a picture</html>")
    assert answer.status_code == 422  # type: ignore[attr-defined]
    assert "no PNG or JPEG picture" in answer.context["form"].errors["file"][0]  # type: ignore[attr-defined]
    assert not ShopLogo.objects.exists()


@pytest.mark.django_db
@pytest.mark.parametrize("name", ["shop_logo", "shop_logo_remove"])
def test_only_who_may_change_the_shop_may_change_it(client: Client, name: str) -> None:
    client.force_login(User.objects.create_user("else", password="long enough to be one"))
    assert client.post(reverse(name)).status_code == 403


@pytest.mark.django_db
def test_the_settings_do_not_fetch_the_picture(django_assert_num_queries: object) -> None:
    ShopLogo.keep(clean_logo(picture()))
    with django_assert_num_queries(1) as asked:  # type: ignore[operator]
        Shop.current()
    assert "logo" not in asked.captured_queries[0]["sql"]
