from django.urls import path

from fitting.web import paper_plan_views as plans
from fitting.web import paper_views as views

urlpatterns = [
    path("patterns/", views.Patterns.as_view(), name="patterns"),
    path("patterns/new/", views.NewPattern.as_view(), name="new-pattern"),
    path("patterns/<uuid:pattern_id>/", views.PatternPage.as_view(), name="pattern"),
    path("plans/new/", plans.NewPlan.as_view(), name="new-plan"),
    path("plans/<uuid:plan_id>/", plans.PlanPage.as_view(), name="plan"),
    path("plans/<uuid:plan_id>/overrule/", plans.OverrulePlan.as_view(), name="overrule-plan"),
    path("plans/<uuid:plan_id>/tick/", plans.TickLine.as_view(), name="tick-line"),
    path("plans/<uuid:plan_id>/sheet/", plans.AskSheet.as_view(), name="ask-cutting-sheet"),
    path(
        "plans/<uuid:plan_id>/sheet/<uuid:sheet_id>.pdf", plans.SheetPdf.as_view(), name="cutting-sheet-pdf"
    ),
]
