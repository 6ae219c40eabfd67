"""Addresses about trust and keeping; studio/api/routes.py takes them in."""

from django.urls import path

from studio.api import trust_views as views

urlpatterns = [
    path("technical-errors/", views.TechnicalErrors.as_view(), name="api-technical-errors"),
    path("repeatability/", views.Repeatability.as_view(), name="api-repeatability"),
    path("repeatability/members/", views.MembersRepeatability.as_view(), name="api-repeatability-members"),
    path("taping/", views.Taping.as_view(), name="api-taping"),
    path("standard-days/", views.StandardDays.as_view(), name="api-standard-days"),
    path("standard-days/<uuid:day_id>/", views.StandardDay.as_view(), name="api-standard-day"),
    path(
        "standard-days/<uuid:day_id>/readings/",
        views.DayReadings.as_view(),
        name="api-standard-day-readings",
    ),
    path(
        "standard-day-readings/<uuid:reading_id>/correct/",
        views.DayCorrection.as_view(),
        name="api-standard-day-correct",
    ),
    path("clients/<uuid:client_id>/history/", views.Histories.as_view(), name="api-client-history"),
    path(
        "clients/<uuid:client_id>/history/<slug:code>/",
        views.History.as_view(),
        name="api-client-measure-history",
    ),
    path("clients/<uuid:client_id>/estimates/", views.Estimates.as_view(), name="api-client-estimates"),
    path(
        "clients/<uuid:client_id>/standard-figure/",
        views.StandardFigure.as_view(),
        name="api-client-standard-figure",
    ),
    path("clients/<uuid:client_id>/keep/", views.Keep.as_view(), name="api-client-keep"),
    path("keeping/", views.Keeping.as_view(), name="api-keeping"),
    path("keeping/clients/", views.AskedAbout.as_view(), name="api-keeping-clients"),
]
