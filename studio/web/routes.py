from django.urls import path

from studio.web import views

app_name = "studio"
urlpatterns = [
    path("clients/", views.Clients.as_view(), name="clients"),
    path("clients/new/", views.NewClient.as_view(), name="new-client"),
    path("clients/<uuid:client_id>/", views.Client.as_view(), name="client"),
    path("clients/<uuid:client_id>/edit/", views.EditClient.as_view(), name="edit-client"),
    path("clients/<uuid:client_id>/consent/", views.Consent.as_view(), name="consent"),
    path("clients/<uuid:client_id>/export/", views.ExportClient.as_view(), name="export-client"),
    path("clients/<uuid:client_id>/erase/", views.EraseClient.as_view(), name="erase-client"),
    path("clients/<uuid:client_id>/measure/", views.NewMeasuring.as_view(), name="new-measuring"),
    path("measurings/<uuid:measuring_id>/", views.Measuring.as_view(), name="measuring"),
    path("readings/<uuid:reading_id>/correct/", views.CorrectReading.as_view(), name="correct-reading"),
]
