"""Spreading rates, films and solids against published values."""

from __future__ import annotations

import pytest

from costing.core.film import (
    dry_film,
    dry_film_by_mass,
    implied_transfer_efficiency,
    mix_volume_solids,
    parts_by_mass,
    solids_density,
    solids_mass,
    split_by_parts,
    spreading_rate,
    thinned_volume_solids,
    volume_solids_by_mass,
    wet_film,
)
from tests.references.sources import Check, Known, check
from tests.references.us_units import GALLON, MIL, POUND_PER_GALLON, SQUARE_FOOT, square_feet_per_gallon

DEFINITION = "exact definitions of inch, foot and US gallon of 231 cubic inches; trade notes print 1604"
NOTE = "Coating coverage note, May 2004, paintcenter.org, rj/may04jj"
BULLETIN = "Unattributed spreading-rate bulletin, scribd.com document 343849341"
CHART = "Unattributed coating calculation chart, scribd.com document 104802451"
HANDBOOK = "MIL-HDBK-1110 (UFC 3-190-06), section 2.1.5"
ISO = "ISO 3233-3:2015, theoretical spreading rate"
BY_MASS = "ISO 3233-3:2015 (formula from memory); same procedure in a trade note, paintcenter.org, rj/aug10b"
SOLIDS_NOTE = "Density of dry solids, trade note, paintcenter.org, rj/oct06o"
CASE_STUDY = "Georgia pollution prevention case study on airless guns in a cabinet shop, p2ad.org, ma_furniture2"
FORUM = "Finish coverage answer, woodweb.com knowledge base, Calculating finish coverage"
MIXING = "arithmetic of a 4 : 1 mix by volume; volumes additive"


def us_rate(volume_solids: float, mils: float, efficiency: float = 1.0) -> float:
    """Spreading rate in ft²/gal at a dry film in mil, by way of the metric core."""
    return square_feet_per_gallon(spreading_rate(volume_solids, mils * MIL, efficiency))


def dry_mils(mils: float, volume_solids: float, thinning: float = 0.0) -> float:
    return dry_film(mils * MIL, volume_solids, thinning) / MIL


SEALER = {"density": 0.95, "mass_solids": 28}
SEALER_SOLIDS = 20.465
FOUR_TO_ONE_BY_MASS = (1.02, 1.08)

CHECKS: list[Check] = [
    check("C01", "ft² per gal, 100 % solids at 1 mil", 231000 / 144, 1e-9, DEFINITION, Known.EXACT, lambda: us_rate(100, 1)),
    check("C01p", "the same, as trade notes print it", 1604, 0.5, f"{NOTE}, printed 1604", Known.READ, lambda: us_rate(100, 1)),
    check(
        "C02",
        "m² per L, 100 % solids at 1 µm",
        1000,
        0,
        f"{BULLETIN}, printed 1000",
        Known.REPRINT,
        lambda: spreading_rate(100, 1),
    ),
    check(
        "C05", "ft²/gal, 52 %, 1.5 mil, TE 0.35", 194.6, 0.2, f"{NOTE}, printed 194.5", Known.READ, lambda: us_rate(52, 1.5, 0.35)
    ),
    check(
        "C06",
        "m²/L, 52 %, 38.1 µm, TE 0.35",
        4.777,
        0.005,
        f"{NOTE}, in metric",
        Known.RELATION,
        lambda: spreading_rate(52, 38.1, 0.35),
    ),
    check("C07", "m²/L, 65 % at 125 µm", 5.20, 0.01, f"{BULLETIN}, printed 5.2", Known.REPRINT, lambda: spreading_rate(65, 125)),
    check("C08", "ft²/gal, 65 % at 5 mil", 208.5, 0.1, f"{BULLETIN}, printed 208.5", Known.REPRINT, lambda: us_rate(65, 5)),
    check("C09a", "ft²/gal, 35 % at 1 mil", 561, 0.5, f"{CHART}, printed 561", Known.REPRINT, lambda: us_rate(35, 1)),
    check("C09b", "ft²/gal, 35 % at 2 mil", 281, 0.5, f"{CHART}, printed 281", Known.REPRINT, lambda: us_rate(35, 2)),
    check("C10", "ft²/gal, 65 % at 3 mil", 348, 0.6, f"{CHART}, printed 348", Known.REPRINT, lambda: us_rate(65, 3)),
    check("C11a", "ft²/gal, 50 % at 2 mil", 401, 0.6, f"{CHART}, printed 401", Known.REPRINT, lambda: us_rate(50, 2)),
    check("C11b", "ft²/gal, 80 % at 4 mil", 321, 0.6, f"{CHART}, printed 321", Known.REPRINT, lambda: us_rate(80, 4)),
    check("C12a", "ft²/gal, 100 % at 1 mil, rounded", 1600, 5, f"{HANDBOOK}, printed 1600", Known.READ, lambda: us_rate(100, 1)),
    check("C12b", "ft²/gal, 100 % at 2 mil, rounded", 800, 5, f"{HANDBOOK}, printed 800", Known.READ, lambda: us_rate(100, 2)),
    check("C12c", "ft²/gal, 100 % at 4 mil, rounded", 400, 5, f"{HANDBOOK}, printed 400", Known.READ, lambda: us_rate(100, 4)),
    check("C13a", "ft²/gal, 50 % at 2 mil, rounded", 400, 3, f"{HANDBOOK}, printed 400", Known.READ, lambda: us_rate(50, 2)),
    check("C13b", "ft²/gal, 50 % at 4 mil, rounded", 200, 3, f"{HANDBOOK}, printed 200", Known.READ, lambda: us_rate(50, 4)),
    check(
        "C14", "dry mil of 8 mil wet at 35 %", 2.8, 0.01, f"{HANDBOOK}; numbers of {CHART}", Known.READ, lambda: dry_mils(8, 35)
    ),
    check("C15", "dry mil of 8 mil wet at 35 %, thinned 10 %", 2.545, 0.01, CHART, Known.RELATION, lambda: dry_mils(8, 35, 10)),
    check("C16", "wet µm for 30 µm dry at 32 %", 93.75, 0.01, HANDBOOK, Known.RELATION, lambda: wet_film(30, 32)),
    check(
        "C17", "wet µm for 30 µm dry at 32 %, thinned 10 %", 103.125, 0.001, CHART, Known.RELATION, lambda: wet_film(30, 32, 10)
    ),
    check("C18", "wet µm for 50 µm dry at 40 %, thinned 15 %", 143.75, 0.01, CHART, Known.RELATION, lambda: wet_film(50, 40, 15)),
    check(
        "C19",
        "volume solids of 48 % thinned 10 %",
        43.636,
        0.001,
        HANDBOOK,
        Known.RELATION,
        lambda: thinned_volume_solids(48, 10),
    ),
    check("C20", "m²/L, 32 % at 30 µm", 10.667, 0.001, ISO, Known.RELATION, lambda: spreading_rate(32, 30)),
    check(
        "C53",
        "volume solids, 0.95 kg/L, 28 % by mass, solvent 0.86 kg/L",
        20.465,
        0.005,
        BY_MASS,
        Known.RELATION,
        lambda: volume_solids_by_mass(**SEALER, solvent_density=0.86),
    ),
    check(
        "C54",
        "density of its dry solids, kg/L",
        1.2998,
        0.001,
        SOLIDS_NOTE,
        Known.RELATION,
        lambda: solids_density(**SEALER, volume_solids=SEALER_SOLIDS),
    ),
    check(
        "C57",
        "dry µm of 100 g at 9.0 lb/gal and 40 % on 10 ft²",
        39.92,
        0.13,
        "Film from mass, trade note, paintcenter.org, rj/dec07n, with its division mended",
        Known.RELATION,
        lambda: dry_film_by_mass(mass=0.1, density=9 * POUND_PER_GALLON, volume_solids=40, area=10 * SQUARE_FOOT),
    ),
    check(
        "C58",
        "g of dry solids on 1 m² at 30 µm",
        38.99,
        0.02,
        SOLIDS_NOTE,
        Known.RELATION,
        lambda: 1000 * solids_mass(1, 30, 1.2998),
    ),
    check("C59a", "L of A in 2.5 L at 4 : 1", 2.0, 1e-6, MIXING, Known.EXACT, lambda: split_by_parts(2.5, (4, 1))[0]),
    check("C59b", "L of B in 2.5 L at 4 : 1", 0.5, 1e-6, MIXING, Known.EXACT, lambda: split_by_parts(2.5, (4, 1))[1]),
    check(
        "C60a",
        "g of A, 2.0 L at 1.02 kg/L",
        2040,
        0.5,
        MIXING,
        Known.EXACT,
        lambda: 1000 * parts_by_mass(split_by_parts(2.5, (4, 1)), FOUR_TO_ONE_BY_MASS)[0],
    ),
    check(
        "C60b",
        "g of B, 0.5 L at 1.08 kg/L",
        540,
        0.5,
        MIXING,
        Known.EXACT,
        lambda: 1000 * parts_by_mass(split_by_parts(2.5, (4, 1)), FOUR_TO_ONE_BY_MASS)[1],
    ),
    check(
        "C60c",
        "parts of B by mass to 100 of A",
        26.47,
        0.01,
        MIXING,
        Known.EXACT,
        lambda: 100 * parts_by_mass((4, 1), FOUR_TO_ONE_BY_MASS)[1] / parts_by_mass((4, 1), FOUR_TO_ONE_BY_MASS)[0],
    ),
    check(
        "C61",
        "volume solids of 45 % and 60 % at 4 : 1",
        48.0,
        0.01,
        MIXING,
        Known.RELATION,
        lambda: mix_volume_solids((4, 1), (45, 60)),
    ),
    check("W6a", "ft²/gal of 25 % solids at 1 mil", 401.0, 0.1, CASE_STUDY, Known.RELATION, lambda: us_rate(25, 1)),
    check(
        "W6b",
        "TE implied by that shop at an assumed 1 mil of 25 %",
        0.585,
        0.001,
        CASE_STUDY,
        Known.RELATION,
        lambda: implied_by_shop(270_000, 1150),
    ),
    check(
        "W6c",
        "TE implied by the other shop, 3,441 gal for 350,000 ft²",
        0.254,
        0.001,
        CASE_STUDY,
        Known.RELATION,
        lambda: implied_by_shop(350_000, 3441),
    ),
    check(
        "S77",
        "ft²/gal, 25 % at 1 mil and TE 0.5",
        200,
        1,
        f"{FORUM}, answers about 200",
        Known.PRACTICE,
        lambda: us_rate(25, 1, 0.5),
    ),
]
REFERENCES = [entry.reference for entry in CHECKS]


def implied_by_shop(square_feet: float, gallons: float) -> float:
    """TE that a year of a shop amounts to if each ft² got 1 mil dry of 25 % solids (assumed, not published)."""
    return implied_transfer_efficiency(area=square_feet * SQUARE_FOOT, litres=gallons * GALLON, volume_solids=25, dry_film=MIL)


@pytest.mark.parametrize("entry", CHECKS, ids=[entry.reference.id for entry in CHECKS])
def test_it_agrees_with_what_is_published(entry: Check) -> None:
    entry.run()
