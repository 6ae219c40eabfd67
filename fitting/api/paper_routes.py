from django.urls import path

from fitting.api import paper_views as views

urlpatterns = [
    path("patterns/", views.Patterns.as_view(), name="pattern-list"),
    path("patterns/<uuid:pattern_id>/", views.PatternRead.as_view(), name="pattern-read"),
    path("ease-sets/", views.EaseSets.as_view(), name="ease-set-list"),
    path("fit-plans/", views.FitPlans.as_view(), name="fit-plan-list"),
    path("fit-plans/<uuid:plan_id>/", views.FitPlanRead.as_view(), name="fit-plan-read"),
    path("fit-plans/<uuid:plan_id>/approval/", views.FitPlanApproval.as_view(), name="fit-plan-approval"),
]
