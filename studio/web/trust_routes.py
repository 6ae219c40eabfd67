"""Addresses of the pages about trust and keeping; they belong to the names of studio/web/routes.py."""

from django.urls import path

from studio.web import retention_views, trust_views

urlpatterns = [
    path("repeatability/", trust_views.Repeatability.as_view(), name="repeatability"),
    path("repeatability/<uuid:member_id>/", trust_views.Repeatability.as_view(), name="repeatability-of"),
    path("repeatability/taping/", trust_views.LearnTaping.as_view(), name="learn-taping"),
    path("standard-days/", trust_views.StandardDays.as_view(), name="standard-days"),
    path("standard-days/new/", trust_views.NewStandardDay.as_view(), name="new-standard-day"),
    path("standard-days/<uuid:day_id>/", trust_views.StandardDay.as_view(), name="standard-day"),
    path(
        "standard-days/<uuid:day_id>/<slug:code>/",
        trust_views.StandardDayGrid.as_view(),
        name="standard-day-grid",
    ),
    path(
        "standard-day-readings/<uuid:reading_id>/correct/",
        trust_views.CorrectDayReading.as_view(),
        name="correct-day-reading",
    ),
    path("clients/<uuid:client_id>/history/", trust_views.Histories.as_view(), name="histories"),
    path("clients/<uuid:client_id>/history/<slug:code>/", trust_views.History.as_view(), name="history"),
    path(
        "clients/<uuid:client_id>/standard-figure/",
        trust_views.StandardFigure.as_view(),
        name="standard-figure",
    ),
    path("keeping/", retention_views.Retention.as_view(), name="retention"),
    path("clients/<uuid:client_id>/keep/", retention_views.KeepClient.as_view(), name="keep-client"),
]
