"""Estimates, takeoffs and quotes."""

from django.urls import path

from costing.views import assumptions, beside, comparison, desk_pricing, follow_up, pricing, quotes, risk
from costing.views.what_if import quote_what_if

urlpatterns = [
    path("pricing/", desk_pricing.desk_pricing, name="desk_pricing"),
    path("compare/", comparison.comparison, name="comparison"),
    path("compare/lines.svg", comparison.comparison_chart, {"kind": "lines"}, name="comparison_lines"),
    path("compare/bars.svg", comparison.comparison_chart, {"kind": "bars"}, name="comparison_bars"),
    path("compare/comparison.pdf", comparison.comparison_pdf, name="comparison_pdf"),
    path("compare/comparison.xlsx", comparison.comparison_xlsx, name="comparison_xlsx"),
    path("estimates/<int:pk>/", pricing.estimate, name="estimate"),
    path("estimates/<int:pk>/assumptions/", assumptions.estimate_assumptions, name="estimate_assumptions"),
    path("estimates/<int:pk>/beside/", beside.estimate_beside, name="estimate_beside"),
    path("estimates/<int:pk>/chart.svg", pricing.estimate_chart, name="estimate_chart"),
    path("estimates/<int:pk>/systems/<int:system_pk>/", pricing.estimate_option, name="estimate_option"),
    path(
        "estimates/<int:pk>/systems/<int:system_pk>/workings/<slug:part>/",
        pricing.estimate_workings,
        name="estimate_workings",
    ),
    path(
        "estimates/<int:pk>/systems/<int:system_pk>/schedule.svg",
        pricing.estimate_schedule,
        name="estimate_schedule",
    ),
    path("estimates/<int:pk>/systems/<int:system_pk>/risk/", risk.estimate_risk, name="estimate_risk"),
    path(
        "estimates/<int:pk>/systems/<int:system_pk>/risk/chances.svg",
        risk.estimate_risk_chart,
        {"kind": "chances"},
        name="estimate_risk_chances",
    ),
    path(
        "estimates/<int:pk>/systems/<int:system_pk>/risk/drivers.svg",
        risk.estimate_risk_chart,
        {"kind": "drivers"},
        name="estimate_risk_drivers",
    ),
    path("estimates/<int:pk>/systems/<int:system_pk>/cost-sheet.pdf", pricing.cost_sheet_pdf, name="cost_sheet_pdf"),
    path("estimates/<int:pk>/systems/<int:system_pk>/cost-sheet.xlsx", pricing.cost_sheet_xlsx, name="cost_sheet_xlsx"),
    path("estimates/<int:pk>/quote/", quotes.quote_new, name="quote_new"),
    path("quotes/", quotes.quotes, name="quotes"),
    path("quotes/follow-up/", follow_up.follow_ups, name="follow_ups"),
    path("quotes/<int:pk>/follow-up/", follow_up.quote_follow_up, name="quote_follow_up"),
    path("quotes/<int:pk>/", quotes.quote, name="quote"),
    path("quotes/<int:pk>/what-if/", quote_what_if, name="quote_what_if"),
    path("quotes/<int:pk>/send/", quotes.quote_send, name="quote_send"),
    path("quotes/<int:pk>/decline/", quotes.quote_decline, name="quote_decline"),
    path("quotes/<int:pk>/revise/", quotes.quote_revise, name="quote_revise"),
    path("quotes/<int:pk>/quote.pdf", quotes.quote_pdf, name="quote_pdf"),
    path("quotes/<int:pk>/quote.xlsx", quotes.quote_xlsx, name="quote_xlsx"),
    path(
        "quotes/<int:pk>/options/<int:position>/cost-sheet.pdf",
        quotes.quote_cost_sheet,
        {"form": "pdf"},
        name="quote_cost_sheet_pdf",
    ),
    path(
        "quotes/<int:pk>/options/<int:position>/cost-sheet.xlsx",
        quotes.quote_cost_sheet,
        {"form": "xlsx"},
        name="quote_cost_sheet_xlsx",
    ),
]
