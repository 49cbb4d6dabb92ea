"""What to wear for each material, from its own H-codes. It says what such codes usually call for, never what is enough.

Which glove, which filter and how long is for the safety data sheet and for licensed practice to say.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from inventory.models import Material

SOURCE = (
    "Precautionary statements P280, P284 and P261 that go with these codes, UN GHS (ST/SG/AC.10/30) annex 3, cited from memory."
)

_ASKS: Mapping[str, frozenset[str]] = {
    "supplied air or the respirator that its sheet names": frozenset({"H330", "H331", "H332", "H334", "H335", "H336"}),
    "gloves": frozenset({"H310", "H311", "H312", "H314", "H315", "H317"}),
    "eye protection": frozenset({"H314", "H318", "H319"}),
    "clothes that cover the skin": frozenset({"H310", "H311", "H312", "H314", "H317"}),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Wear:
    """What the codes of a material usually call for."""

    material: str
    words: str
    codes: tuple[str, ...]  # those that ask for it


def wear_for(materials: Iterable[Material]) -> tuple[Wear, ...]:
    """What to wear for each material whose codes ask for something, each once, in the order given."""
    found = []
    for material in {material.pk: material for material in materials}.values():
        # A code may carry a letter for its kind: H336 and H360D are read by their number.
        codes = {code[:4] for code in material.h_code_list}
        asked = [words for words, asking in _ASKS.items() if codes & asking]
        if asked:
            because = tuple(sorted(code for code in codes if any(code in asking for asking in _ASKS.values())))
            found.append(Wear(material=material.name, words=", ".join(asked), codes=because))
    return tuple(found)
