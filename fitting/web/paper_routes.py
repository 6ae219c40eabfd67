from django.urls import path

from fitting.web import paper_chart_views as charts
from fitting.web import paper_plan_views as plans
from fitting.web import paper_transfer_views as transfer
from fitting.web import paper_views as views

urlpatterns = [
    path("patterns/", views.Patterns.as_view(), name="patterns"),
    path("patterns/new/", views.NewPattern.as_view(), name="new-pattern"),
    path("patterns/<uuid:pattern_id>/", views.PatternPage.as_view(), name="pattern"),
    path("charts/", charts.Charts.as_view(), name="charts"),
    path("charts/new/", charts.NewChart.as_view(), name="new-chart"),
    path("charts/<uuid:chart_id>/", charts.ChartPage.as_view(), name="chart"),
    path("ease/", charts.Ease.as_view(), name="ease"),
    path("ease/<str:code>/", charts.EaseSetPage.as_view(), name="ease-set"),
    path("paper/transfer/", transfer.PaperTransfer.as_view(), name="paper-transfer"),
    path("paper/transfer/<str:what>.<str:form>", transfer.PaperExport.as_view(), name="paper-export"),
    path("plans/new/", plans.NewPlan.as_view(), name="new-plan"),
    path("plans/<uuid:plan_id>/", plans.PlanPage.as_view(), name="plan"),
    path("plans/<uuid:plan_id>/overrule/", plans.OverrulePlan.as_view(), name="overrule-plan"),
    path("plans/<uuid:plan_id>/tick/", plans.TickLine.as_view(), name="tick-line"),
    path("plans/<uuid:plan_id>/sheet/", plans.AskSheet.as_view(), name="ask-cutting-sheet"),
    path(
        "plans/<uuid:plan_id>/sheet/<uuid:sheet_id>.pdf", plans.SheetPdf.as_view(), name="cutting-sheet-pdf"
    ),
]
