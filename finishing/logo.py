"""The shop's logo: an uploaded picture is decoded, checked and written anew, so that what is kept is a plain PNG and no more."""

from __future__ import annotations

import io
from dataclasses import dataclass

from PIL import Image, ImageOps

MOST_BYTES = 1_000_000
MOST_SIDE = 4_000  # px, of what is uploaded; told by the file's head, before anything is decoded
KEPT_SIDE = 1_200  # px: 60 mm on paper at 500 dots an inch
LEAST_SIDE = 16  # px
LIMITS_IN_WORDS = (
    f"PNG or JPEG, up to {MOST_BYTES // 1000:,} kB, and from {LEAST_SIDE} to {MOST_SIDE:,} pixels wide and high. "
    f"It is kept with up to {KEPT_SIDE:,} pixels a side."
)
_UNREADABLE = (
    OSError,  # what is no picture, or is cut off
    ValueError,
    SyntaxError,  # a damaged PNG
    EOFError,
    Image.DecompressionBombError,
    Image.DecompressionBombWarning,
)


class LogoRefusedError(ValueError):
    """A file that can't be the logo; the message says what would be right."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CleanLogo:
    """A picture as it is kept: PNG without anything that came along in the file. Sides in pixels."""

    png: bytes
    width: int
    height: int


def clean_logo(content: bytes) -> CleanLogo:
    """The picture of an uploaded file, told by its content and not by its name. Raises LogoRefusedError."""
    if not content:
        raise LogoRefusedError("This file is empty. Choose another one.")
    if len(content) > MOST_BYTES:
        raise LogoRefusedError(f"This file has {len(content) / 1000:,.0f} kB. Choose one of up to {MOST_BYTES // 1000:,} kB.")
    try:
        with Image.open(io.BytesIO(content), formats=("PNG", "JPEG")) as opened:
            _check_sides(*opened.size)
            upright = ImageOps.exif_transpose(opened)
            picture = upright.convert("RGBA" if upright.has_transparency_data else "RGB")
    except LogoRefusedError:
        raise
    except _UNREADABLE as error:
        raise LogoRefusedError(
            "This is no PNG or JPEG picture that can be read. Save the logo as PNG and upload that."
        ) from error
    picture.thumbnail((KEPT_SIDE, KEPT_SIDE))
    bare = Image.frombytes(picture.mode, picture.size, picture.tobytes())  # the pixels alone
    written = io.BytesIO()
    bare.save(written, "PNG", optimize=True)
    return CleanLogo(png=written.getvalue(), width=bare.width, height=bare.height)


def _check_sides(width: int, height: int) -> None:
    if max(width, height) > MOST_SIDE or min(width, height) < LEAST_SIDE:
        raise LogoRefusedError(
            f"This picture is {width:,} by {height:,} pixels. Choose one from {LEAST_SIDE} to {MOST_SIDE:,} pixels a side."
        )
