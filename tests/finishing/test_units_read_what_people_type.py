"""Reading measures: what people type, what is understood, and what is refused with a reason."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishing.units import INSIDE, SHOWN, UNITS, Kind, Unit, UnitError, UnitSystem, convert, find_unit, read_measure, to_shown


@pytest.mark.parametrize(
    ("text", "kind", "assume", "inside"),
    [
        ("850 ml", Kind.VOLUME, "L", "0.85"),
        ("1 gal", Kind.VOLUME, "L", "3.785411784"),
        ("30 fl oz", Kind.VOLUME, "L", "0.887205886875"),
        ("30 fl. oz.", Kind.VOLUME, "L", "0.887205886875"),
        ("0.85", Kind.VOLUME, "L", "0.85"),
        ("2", Kind.VOLUME, "gal", "7.570823568"),
        ("24 in", Kind.LENGTH, "mm", "609.6"),
        ('24"', Kind.LENGTH, "mm", "609.6"),
        ("3/4 in", Kind.LENGTH, "mm", "19.05"),
        ("3/4", Kind.LENGTH, "in", "19.05"),
        ("¾ in", Kind.LENGTH, "mm", "19.05"),
        ("23 1/2 in", Kind.LENGTH, "mm", "596.9"),
        ("23-1/2 in", Kind.LENGTH, "mm", "596.9"),
        ("1½ in", Kind.LENGTH, "mm", "38.1"),
        ("5 ft 3 in", Kind.LENGTH, "mm", "1600.2"),
        ("5'3\"", Kind.LENGTH, "mm", "1600.2"),
        ("1,200.5", Kind.LENGTH, "mm", "1200.5"),
        ("250 sq ft", Kind.AREA, "m²", "23.2257600"),
        ("1 sq. ft.", Kind.AREA, "m²", "0.09290304"),
        ("250 ft2", Kind.AREA, "m²", "23.2257600"),
        ("2 m2", Kind.AREA, "m²", "2"),
        ("4 mil", Kind.FILM, "µm", "101.6"),
        ("100 um", Kind.FILM, "mil", "100"),
        ("1.5 h", Kind.TIME, "min", "90"),
        ("-3 mm", Kind.LENGTH, "mm", "-3"),
    ],
)
def test_it_reads(text: str, kind: Kind, assume: str, inside: str) -> None:
    assert read_measure(text, kind, assume=assume).decimal == Decimal(inside)


@pytest.mark.parametrize(
    ("text", "kind", "reason"),
    [
        ("-", Kind.VOLUME, "can't be read as a volume"),
        ("2 kg", Kind.VOLUME, "is a mass; this needs a volume"),
        ("5 mm", Kind.FILM, "is a length; this needs a film thickness"),
        ("12 bananas", Kind.VOLUME, "is not a unit known here"),
        ("nan", Kind.VOLUME, "can't be read as a volume"),
        ("inf", Kind.LENGTH, "can't be read as a length"),
        ("", Kind.LENGTH, "Nothing was typed"),
        ("1,5", Kind.LENGTH, "The comma in “1,5” is unclear"),
        ("1/0 in", Kind.LENGTH, "0 below the line"),
        ("3 4", Kind.LENGTH, "can't be read as a length"),
        ("2 in 3 ft", Kind.LENGTH, "can't be read as a length"),
        ("5 ft 2", Kind.LENGTH, "can't be read as a length"),
        ("1" * 80, Kind.LENGTH, "too long to be a measure"),
        ("=1+1", Kind.LENGTH, "can't be read as a length"),
        ("1e400", Kind.LENGTH, "is not a unit known here"),
    ],
)
def test_it_refuses_and_says_why_and_what_would_be_right(text: str, kind: Kind, reason: str) -> None:
    with pytest.raises(UnitError) as refused:
        read_measure(text, kind, assume=INSIDE[kind])
    assert reason in str(refused.value)
    assert "Write for example" in str(refused.value)


def test_a_bare_ounce_of_liquid_is_read_as_fluid_ounce_and_says_so() -> None:
    measure = read_measure("30 oz", Kind.VOLUME, assume="L")
    assert measure.decimal == Decimal("0.887205886875")
    assert measure.understood == "30 oz = 0.887206 L (oz read as fluid ounce)"


def test_an_ounce_of_mass_stays_a_mass() -> None:
    assert read_measure("16 oz", Kind.MASS, assume="kg").decimal == Decimal("0.45359237")


def test_the_reading_taken_is_shown() -> None:
    assert read_measure("24 in", Kind.LENGTH, assume="mm").understood == "24 in = 609.6 mm"
    assert read_measure("715", Kind.LENGTH, assume="mm").understood == "715 mm"


@given(st.text(max_size=70))
def test_any_text_is_read_or_refused_in_words(text: str) -> None:
    try:
        measure = read_measure(text, Kind.VOLUME, assume="L")
    except UnitError as error:
        refusal = str(error)
    else:
        refusal = "" if isinstance(measure.value, Fraction) else "no exact value"
    assert refusal == "" or refusal.endswith(".")


@given(
    st.sampled_from(UNITS),
    st.decimals(min_value=0, max_value=10_000, places=3, allow_nan=False, allow_infinity=False),
)
def test_a_measure_written_in_any_unit_comes_back_exactly(unit: Unit, amount: Decimal) -> None:
    symbol, kind = unit.symbol, unit.kind
    value = read_measure(f"{amount} {symbol}", kind, assume=INSIDE[kind]).value
    assert convert(value, from_unit=INSIDE[kind], to_unit=symbol) == Fraction(amount)


def test_no_name_means_two_units_of_one_kind() -> None:
    seen: set[tuple[Kind, str]] = set()
    for unit in UNITS:
        for name in {unit.symbol.lower(), *(n.lower() for n in unit.names)}:
            assert (unit.kind, name) not in seen, f"{name} is ambiguous"
            seen.add((unit.kind, name))


@pytest.mark.parametrize("system", list(UnitSystem))
@pytest.mark.parametrize("kind", list(Kind))
def test_every_kind_has_a_shown_unit_of_that_kind(system: UnitSystem, kind: Kind) -> None:
    assert find_unit(SHOWN[system][kind], kind).kind is kind


def test_shown_numbers_are_in_the_shop_unit() -> None:
    assert to_shown(Decimal("3.785411784"), Kind.VOLUME, UnitSystem.US) == 1
    assert to_shown(Decimal("3.5"), Kind.VOLUME, UnitSystem.METRIC) == Decimal("3.5")


def test_converting_between_kinds_is_refused() -> None:
    with pytest.raises(UnitError, match="is a length; this needs an area"):
        convert(1, from_unit="mm", to_unit="m²")


@pytest.mark.parametrize("typed", ["30 1/2", "3/4", "30½", "15-3/8"])
def test_a_fraction_without_a_unit_is_never_taken_for_millimetres(typed: str) -> None:
    with pytest.raises(UnitError, match="in if it is inches"):
        read_measure(typed, Kind.LENGTH, assume="mm")
    assert read_measure(typed, Kind.LENGTH, assume="in").decimal > 10
