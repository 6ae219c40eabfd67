from django.urls import path

from studio.api import class_routes, kept_views, pad, transfer_routes, trust_routes, views

urlpatterns = [
    path("clients/", views.Clients.as_view(), name="api-clients"),
    path("clients/find/", views.FindClients.as_view(), name="api-clients-find"),
    path("clients/<uuid:client_id>/", views.Client.as_view(), name="api-client"),
    path("clients/<uuid:client_id>/consents/", views.Consents.as_view(), name="api-client-consents"),
    path(
        "clients/<uuid:client_id>/measurings/", views.ClientMeasurings.as_view(), name="api-client-measurings"
    ),
    path("clients/<uuid:client_id>/body/", views.Body.as_view(), name="api-client-body"),
    path("clients/<uuid:client_id>/changes/", views.Changes.as_view(), name="api-client-changes"),
    path(
        "clients/<uuid:client_id>/plausibility/",
        pad.Plausibility.as_view(),
        name="api-client-plausibility",
    ),
    path("clients/<uuid:client_id>/export/", views.Export.as_view(), name="api-client-export"),
    path("clients/<uuid:client_id>/copies/", kept_views.Copies.as_view(), name="api-client-copies"),
    path(
        "clients/<uuid:client_id>/copies/<uuid:file_id>/",
        kept_views.Copy.as_view(),
        name="api-client-copy",
    ),
    path("clients/<uuid:client_id>/looks/", kept_views.Looks.as_view(), name="api-client-looks"),
    path("clients/<uuid:client_id>/erasure/", views.Erasure.as_view(), name="api-client-erasure"),
    path("measurings/", views.Measurings.as_view(), name="api-measurings"),
    path("measurings/<uuid:measuring_id>/", views.Measuring.as_view(), name="api-measuring"),
    path("measurings/<uuid:measuring_id>/readings/", views.Takes.as_view(), name="api-measuring-readings"),
    path("readings/<uuid:reading_id>/correction/", views.Correction.as_view(), name="api-reading-correction"),
    *class_routes.urlpatterns,
    *trust_routes.urlpatterns,
    *transfer_routes.urlpatterns,
]
