from django.urls import path, re_path

from seamlab.web import sheet_views as views

urlpatterns = [
    path("cloth/<uuid:cloth_id>/sample-sheet/", views.ClothSheet.as_view(), name="cloth-sample-sheet"),
    path(
        "seams/comparisons/<uuid:comparison_id>/sample-sheet/",
        views.ComparisonSheet.as_view(),
        name="comparison-sample-sheet",
    ),
    path("seams/sample-sheets/<uuid:sheet_id>/pdf/", views.SheetFile.as_view(), name="sample-sheet-file"),
    re_path(r"^s/(?P<code>[0-9a-fA-F]{8}(?:-[0-9a-fA-F]{8})?)/$", views.Sample.as_view(), name="sample"),
]
