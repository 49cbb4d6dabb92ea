"""The arithmetic of the costing model: plain functions over frozen dataclasses.

Nothing here imports Django, reads a clock, opens a file or keeps state between calls. Lengths are in mm,
films in µm, areas in m², volumes in L, masses in kg, times in minutes and rates per hour; physical
quantities are floats, money is Decimal from the moment a quantity is priced. "Costing model, section N" in a
docstring names the part of the model that a function follows.
"""
