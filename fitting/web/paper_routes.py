from django.urls import path

from fitting.web import paper_views as views

urlpatterns = [
    path("patterns/", views.Patterns.as_view(), name="patterns"),
    path("patterns/new/", views.NewPattern.as_view(), name="new-pattern"),
    path("patterns/<uuid:pattern_id>/", views.PatternPage.as_view(), name="pattern"),
    path("plans/new/", views.NewPlan.as_view(), name="new-plan"),
    path("plans/<uuid:plan_id>/", views.PlanPage.as_view(), name="plan"),
]
