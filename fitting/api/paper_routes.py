from django.urls import path

from fitting.api import paper_chart_views as charts
from fitting.api import paper_plan_views as plans
from fitting.api import paper_views as views

urlpatterns = [
    path("patterns/", views.Patterns.as_view(), name="pattern-list"),
    path("patterns/<uuid:pattern_id>/", views.PatternRead.as_view(), name="pattern-read"),
    path("body-charts/", charts.Charts.as_view(), name="body-chart-list"),
    path("body-charts/sourced/", charts.SourcedCharts.as_view(), name="sourced-chart-list"),
    path("body-charts/<uuid:chart_id>/", charts.ChartRead.as_view(), name="body-chart-read"),
    path("paper-files/", charts.PaperFiles.as_view(), name="paper-files"),
    path("paper-files/<str:what>/", charts.PaperFileRead.as_view(), name="paper-file-read"),
    path("ease-sets/", plans.EaseSets.as_view(), name="ease-set-list"),
    path("ease-sets/followed/", plans.EaseSetFollowed.as_view(), name="ease-set-followed"),
    path("ease-sets/<str:code>/", plans.EaseSetRead.as_view(), name="ease-set-read"),
    path("ease-sets/<str:code>/rules/<uuid:rule_id>/", plans.EaseRuleRead.as_view(), name="ease-rule-read"),
    path("fit-plans/", plans.FitPlans.as_view(), name="fit-plan-list"),
    path("fit-plans/<uuid:plan_id>/", plans.FitPlanRead.as_view(), name="fit-plan-read"),
    path("fit-plans/<uuid:plan_id>/approval/", plans.FitPlanApproval.as_view(), name="fit-plan-approval"),
    path("fit-plans/<uuid:plan_id>/overrules/", plans.FitPlanOverrules.as_view(), name="fit-plan-overrules"),
    path("fit-plans/<uuid:plan_id>/ticks/", plans.FitPlanTicks.as_view(), name="fit-plan-ticks"),
    path("fit-plans/<uuid:plan_id>/sheets/", plans.FitPlanSheets.as_view(), name="fit-plan-sheets"),
    path(
        "fit-plans/<uuid:plan_id>/sheets/<uuid:sheet_id>/pdf/",
        plans.FitPlanSheetPdf.as_view(),
        name="fit-plan-sheet-pdf",
    ),
]
