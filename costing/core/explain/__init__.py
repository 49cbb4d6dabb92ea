"""How every figure of an estimate and of a price came about, as data for a page to show. Imports no Django.

`explain` is not part of an estimate: it retells, on demand, the steps that `costing.core.estimate` took. Each `Working` is
found by its key:

========================================  ==========================================================
``area``, ``row.<i>.area``                the takeoff and its rows, counted from 0
``operation.<i>.<figure>``                an operation: area, pieces, labour_minutes, booth_minutes, elapsed_minutes
``coat.<i>.<figure>``                     the coat of operation i: volume_solids, wet_film, sprayed_area, on_surface,
                                          sprayed, overspray, spray_minutes, batches, fills, residue, mixed,
                                          overspray_solids, voc_actual, voc_less_water
``coat.<i>.component.<j>.<figure>``       a component of its mix: mixed, drawn
``material.<key>.<figure>``               a coating material: litre_price, film_litres, overspray_litres,
                                          residue_litres, heel_litres, drawn_litres; film, overspray, residue, heel,
                                          expiry (money)
``supply.<key>.<figure>``                 a supply: quantity, cost
``labour.<class>.<figure>``               a labour class: rate, minutes, cost
``group.<group>``                         each cost group
``true_cost``, ``cost_per_m2``            unrounded
``shown.true_cost``, ``shown.cost_per_m2``  as printed
``labour_minutes``, ``booth_minutes``, ``elapsed_minutes``, ``residue_litres``, ``cleaner_litres``, ``voc_kg``
``price.<step>``                          calculated, after_minimum, net, tax, total (by `explain_price`)
========================================  ==========================================================

A formula reads ``symbol = expression`` with + − × / ( ), ⌈ ⌉ for the model's ceiling, max( , ), and Σ( ) over all inputs
that share a symbol. Whoever puts the inputs into the expression gets the result.
"""

from __future__ import annotations

from costing.core.explain.area import area_workings
from costing.core.explain.coats import coat_workings
from costing.core.explain.money import cost_workings
from costing.core.explain.operations import operation_workings
from costing.core.explain.prices import explain_price
from costing.core.explain.working import Book, Quantity, Working
from costing.core.result import Estimate

__all__ = ["Quantity", "Working", "explain", "explain_price"]


def explain(estimate: Estimate, *, minor_places: int = 2) -> dict[str, Working]:
    """The working of every figure of the estimate, by key, in reading order."""
    book = Book()
    area_workings(book, estimate)
    for position, result in enumerate(estimate.operations):
        coat_workings(book, estimate, position, result)
    operation_workings(book, estimate)
    cost_workings(book, estimate, minor_places)
    return book.workings
