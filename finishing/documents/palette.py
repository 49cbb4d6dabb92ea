"""The house colours on paper: the light tokens of ``house.css``, which a test compares."""

from __future__ import annotations

GROUND = "#f3f4ef"
SURFACE = "#fcfcfa"
SUNKEN = "#e8eae3"
INK = "#1c2220"
INK_SOFT = "#4c5652"
LINE = "#cdd2c9"
LINE_STRONG = "#79837d"
ACCENT = "#0f5d59"
ACCENT_WASH = "#dbeae6"
COAT_1 = "#b9d3cd"
COAT_2 = "#6fa39c"
COAT_3 = "#0f5d59"
WARN_INK = "#6f4300"
WARN_WASH = "#f8e9cb"
SERIES = ("#0f5d59", "#a5651a", "#4b6ea8", "#7c4a86", "#6b7a2e", "#66706b")
