"""Inputs that hypothesis draws for the costing core. Sizes stay within what a small shop could mean."""

from __future__ import annotations

from decimal import Decimal

from hypothesis import strategies as st

from costing.core.facts import LabourClass, MaterialFacts, MaterialKind, Rates, StockUnit
from costing.core.system import Coat, Component, Driver, Operation, OperationKind, SpraySetup, SupplyLine, System, TimeLine
from costing.core.takeoff import GivenArea, Moulding, Panel, Row, Takeoff, Zone


def numbers(least: float, most: float) -> st.SearchStrategy[float]:
    """Floats in a closed range, without the subnormal ones that no measuring tape shows."""
    return st.floats(least, most, allow_nan=False, allow_infinity=False, allow_subnormal=False)


def money(most: int = 200) -> st.SearchStrategy[Decimal]:
    """Amounts in cents."""
    return st.integers(0, most * 100).map(lambda cents: Decimal(cents) / 100)


def fractions(most: str = "0.9") -> st.SearchStrategy[Decimal]:
    """Shares in thousandths."""
    return st.integers(0, int(Decimal(most) * 1000)).map(lambda share: Decimal(share) / 1000)


shapes = st.one_of(
    st.builds(
        Panel,
        length=numbers(50, 3000),
        width=numbers(20, 1500),
        thickness=numbers(3, 60),
        faces=st.integers(1, 2),
        long_edges=st.integers(0, 2),
        short_edges=st.integers(0, 2),
        profile_factor=numbers(1, 2),
    ),
    st.builds(GivenArea, area=numbers(0.01, 50)),
    st.builds(Moulding, length=numbers(100, 5000), girth=numbers(20, 400)),
)
rows = st.builds(Row, shape=shapes, pieces=st.integers(1, 40), geometry_factor=numbers(0.2, 1), zone=st.sampled_from(Zone))
takeoffs = st.lists(rows, min_size=1, max_size=6).map(lambda listed: Takeoff(rows=tuple(listed)))
setups = st.builds(
    SpraySetup,
    transfer_efficiency=numbers(0.05, 1),
    cup_capacity=numbers(0.2, 2),
    residue_per_fill=numbers(0, 0.1),
    residue_per_batch=numbers(0, 0.3),
    spray_rate=numbers(2, 200),
)
components = st.lists(
    st.builds(Component, material=st.sampled_from(("base", "hardener")), parts=numbers(0.1, 20)), min_size=1, max_size=3
).map(tuple)
coats = st.builds(
    Coat,
    components=components,
    setup=setups,
    dry_film=numbers(5, 150),
    thinner=st.just("thinner"),
    thinning=numbers(0, 50),
    pot_life=st.none() | numbers(20, 500),
    minutes_per_fill=numbers(0, 10),
    minutes_per_batch=numbers(0, 20),
    flash_off_minutes=numbers(0, 60),
    dry_minutes=numbers(0, 600),
    stacking_minutes=numbers(0, 1000),
)
zones = st.sets(st.sampled_from(Zone), min_size=1).map(frozenset)
time_lines = st.lists(
    st.builds(
        TimeLine,
        minutes=numbers(0, 30),
        driver=st.sampled_from((Driver.OPERATION, Driver.M2, Driver.PIECE, Driver.BATCH, Driver.FILL)),
    ),
    max_size=2,
).map(tuple)
supply_lines = st.lists(
    st.builds(
        SupplyLine,
        material=st.sampled_from(("wash", "disc", "liner")),
        amount=numbers(0, 3),
        driver=st.sampled_from(Driver),
        whole_units=st.booleans(),
    ),
    max_size=3,
).map(tuple)
operations = st.builds(
    Operation,
    name=st.just("Abrade"),
    kind=st.just(OperationKind.ABRADE),
    labour_class=st.just("helper"),
    zones=zones,
    crew=st.integers(1, 3),
    time_lines=time_lines,
    supply_lines=supply_lines,
)
coatings = st.builds(
    Operation,
    name=st.just("Spray"),
    kind=st.just(OperationKind.COAT),
    labour_class=st.just("sprayer"),
    zones=zones,
    crew=st.integers(1, 3),
    time_lines=time_lines,
    supply_lines=supply_lines,
    coat=coats,
)
systems = st.lists(operations | coatings, min_size=1, max_size=5).map(
    lambda listed: System(name="Drawn", operations=tuple(listed))
)


@st.composite
def shelves(draw: st.DrawFn) -> dict[str, MaterialFacts]:
    """Facts of every material that the systems above use."""

    def material(key: str, kind: MaterialKind, unit: StockUnit, solids: tuple[float, float]) -> MaterialFacts:
        liquid = unit is StockUnit.LITRE
        return MaterialFacts(
            key=key,
            name=key,
            kind=kind,
            unit=unit,
            price=draw(money()),
            density=draw(numbers(0.8, 1.6)) if liquid else None,
            volume_solids=draw(numbers(*solids)) if liquid else None,
            mass_solids=draw(numbers(*solids)) if liquid else None,
            voc=draw(numbers(0, 800)) if liquid else None,
            yield_fraction=draw(numbers(0.5, 1)) if liquid else 1,
            expiry_allowance=draw(fractions()) if liquid else Decimal(0),
        )

    listed = (
        material("base", MaterialKind.COATING, StockUnit.LITRE, (15, 100)),
        material("hardener", MaterialKind.HARDENER, StockUnit.LITRE, (15, 100)),
        material("thinner", MaterialKind.THINNER, StockUnit.LITRE, (0, 0)),
        material("wash", MaterialKind.CLEANER, StockUnit.LITRE, (0, 0)),
        material("disc", MaterialKind.ABRASIVE, StockUnit.PIECE, (0, 0)),
        material("liner", MaterialKind.LINER, StockUnit.PIECE, (0, 0)),
    )
    return {facts.key: facts for facts in listed}


rates = st.builds(
    Rates,
    labour=st.builds(
        lambda sprayer, helper: {"sprayer": sprayer, "helper": helper},
        st.builds(LabourClass, key=st.just("sprayer"), name=st.just("Sprayer"), wage=money(60), burden=fractions()),
        st.builds(LabourClass, key=st.just("helper"), name=st.just("Helper"), wage=money(60), burden=fractions()),
    ),
    booth_rate=money(60),
    overhead_rate=fractions("2"),
    rework_allowance=fractions("0.3"),
    disposal_fee=money(10),
    voc_recovered=numbers(0, 1),
)
