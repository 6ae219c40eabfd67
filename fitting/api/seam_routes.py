from django.urls import path

from fitting.api import seam_views as views

urlpatterns = [
    path("garments/<uuid:garment_id>/sewing/", views.GarmentSewing.as_view(), name="garment-sewing"),
    path(
        "garments/<uuid:garment_id>/seams/<uuid:seam_id>/", views.GarmentSeam.as_view(), name="garment-seam"
    ),
    path(
        "garments/<uuid:garment_id>/sample-sheet/",
        views.GarmentSampleSheet.as_view(),
        name="garment-sample-sheet",
    ),
]
