"""The words behind the H-codes of a safety data sheet, for the caution that stands beside the work.

Pure: no Django. The program repeats words; it never classifies a mixture. The product's safety data sheet decides.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

SOURCE = "UN GHS, Annex 3 (hazard statements), in the words of Regulation (EC) 1272/2008, Annex I and III."

# Read in Regulation (EC) 1272/2008 (CLP), Annex I.
_READ: Mapping[str, str] = {
    "H225": "Highly flammable liquid and vapour",
    "H226": "Flammable liquid and vapour",
    "H304": "May be fatal if swallowed and enters airways",
    "H315": "Causes skin irritation",
    "H317": "May cause an allergic skin reaction",
    "H319": "Causes serious eye irritation",
    "H332": "Harmful if inhaled",
    "H334": "May cause allergy or asthma symptoms or breathing difficulties if inhaled",
    "H335": "May cause respiratory irritation",
    "H336": "May cause drowsiness or dizziness",
    "H351": "Suspected of causing cancer",
    "H373": "May cause damage to organs through prolonged or repeated exposure",
}

# The same annexes, from memory.
_REMEMBERED: Mapping[str, str] = {
    "H222": "Extremely flammable aerosol",
    "H223": "Flammable aerosol",
    "H224": "Extremely flammable liquid and vapour",
    "H227": "Combustible liquid",
    "H228": "Flammable solid",
    "H229": "Pressurized container: may burst if heated",
    "H290": "May be corrosive to metals",
    "H301": "Toxic if swallowed",
    "H302": "Harmful if swallowed",
    "H311": "Toxic in contact with skin",
    "H312": "Harmful in contact with skin",
    "H314": "Causes severe skin burns and eye damage",
    "H318": "Causes serious eye damage",
    "H330": "Fatal if inhaled",
    "H331": "Toxic if inhaled",
    "H341": "Suspected of causing genetic defects",
    "H350": "May cause cancer",
    "H360": "May damage fertility or the unborn child",
    "H361": "Suspected of damaging fertility or the unborn child",
    "H370": "Causes damage to organs",
    "H371": "May cause damage to organs",
    "H372": "Causes damage to organs through prolonged or repeated exposure",
    "H400": "Very toxic to aquatic life",
    "H410": "Very toxic to aquatic life with long lasting effects",
    "H411": "Toxic to aquatic life with long lasting effects",
    "H412": "Harmful to aquatic life with long lasting effects",
    "H413": "May cause long lasting harmful effects to aquatic life",
}

UNKNOWN = "words in the safety data sheet"


@dataclass(frozen=True, slots=True, kw_only=True)
class Hazard:
    """One H-code with its words."""

    code: str
    words: str


def hazards(codes: Sequence[str]) -> tuple[Hazard, ...]:
    """The words for each code, in the order given; a letter after the number (H361d) narrows it and shares its words.

    A code that is not known here points to the safety data sheet.

    >>> hazards(("H226",))[0].words
    'Flammable liquid and vapour'
    """
    known = {**_REMEMBERED, **_READ}
    return tuple(Hazard(code=code, words=known.get(code[:4], UNKNOWN)) for code in codes)
