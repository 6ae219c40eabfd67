from django.urls import path

from fitting.web import seam_views as views

urlpatterns = [
    path("garments/<uuid:garment_id>/sewing/", views.Sewing.as_view(), name="garment-sewing"),
    path(
        "garments/<uuid:garment_id>/sewing/sheet/",
        views.AskSampleSheet.as_view(),
        name="garment-sample-sheet",
    ),
    path("garments/<uuid:garment_id>/seams/<uuid:seam_id>/", views.SeamLength.as_view(), name="garment-seam"),
]
