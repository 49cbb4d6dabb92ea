"""Who sends a document, and on what paper."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from typing import Protocol


class ShopLike(Protocol):
    """What a letterhead needs to know of the shop's settings."""

    name: str
    address: str
    email: str
    phone: str
    page_size: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Letterhead:
    """The sender at the top of a document."""

    name: str
    address: str = ""  # lines separated by line breaks
    email: str = ""
    phone: str = ""
    logo: bytes = b""  # PNG, empty for none

    @property
    def contact_lines(self) -> tuple[str, ...]:
        """Address, telephone and mail, one line each, without empty ones."""
        given = (*self.address.splitlines(), self.phone, self.email)
        return tuple(line.strip() for line in given if line.strip())


def letterhead_of(shop: ShopLike, *, logo: bytes = b"") -> Letterhead:
    """The letterhead from the shop's settings, with its logo on what goes to a customer."""
    return Letterhead(name=shop.name, address=shop.address, email=shop.email, phone=shop.phone, logo=logo)


def printable(text: object) -> str:
    """Text without control characters other than line breaks and tabs, and without lone surrogates.

    Files refuse or hide them: a spreadsheet is XML, a PDF draws boxes.
    """
    return "".join(
        char
        for char in str(text).replace("\r\n", "\n").replace("\r", "\n")
        if char in "\n\t" or (unicodedata.category(char) not in {"Cc", "Cs"} and char not in "\ufffe\uffff")
    )
