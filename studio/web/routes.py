from django.urls import path

from studio.web import class_routes, kept_views, measuring_views, pad, transfer_routes, trust_routes, views

app_name = "studio"
urlpatterns = [
    path("clients/", views.Clients.as_view(), name="clients"),
    path("clients/new/", views.NewClient.as_view(), name="new-client"),
    path("clients/<uuid:client_id>/", views.Client.as_view(), name="client"),
    path("clients/<uuid:client_id>/edit/", views.EditClient.as_view(), name="edit-client"),
    path("clients/<uuid:client_id>/consent/", views.Consent.as_view(), name="consent"),
    path("clients/<uuid:client_id>/kept/", kept_views.Kept.as_view(), name="kept"),
    path("clients/<uuid:client_id>/copies/", kept_views.AskCopy.as_view(), name="ask-client-copy"),
    path("clients/<uuid:client_id>/copies/<uuid:file_id>/", kept_views.Copy.as_view(), name="client-copy"),
    path("clients/<uuid:client_id>/erase/", views.EraseClient.as_view(), name="erase-client"),
    path("clients/<uuid:client_id>/measure/", measuring_views.NewMeasuring.as_view(), name="new-measuring"),
    path("clients/<uuid:client_id>/pad/", pad.Pad.as_view(), name="pad"),
    path("pad/figures/<str:build>/<slug:code>.svg", pad.PadFigure.as_view(), name="pad-figure"),
    path("pad-worker.js", pad.PadWorker.as_view(), name="pad-worker"),
    path("measurings/<uuid:measuring_id>/", measuring_views.Measuring.as_view(), name="measuring"),
    path(
        "readings/<uuid:reading_id>/correct/",
        measuring_views.CorrectReading.as_view(),
        name="correct-reading",
    ),
    *trust_routes.urlpatterns,
    *transfer_routes.urlpatterns,
    *class_routes.urlpatterns,
]
