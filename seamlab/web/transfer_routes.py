from django.urls import path

from seamlab.web import transfer_views as views

urlpatterns = [
    path("seams/in-and-out/", views.Transfer.as_view(), name="transfer"),
    path("seams/in-and-out/export/", views.AskExport.as_view(), name="transfer-export"),
    path("seams/in-and-out/exports/<uuid:export_id>/file/", views.ExportFile.as_view(), name="export-file"),
    path("seams/in-and-out/imports/<uuid:import_id>/", views.Import.as_view(), name="transfer-import"),
    path(
        "seams/in-and-out/imports/<uuid:import_id>/problems.csv",
        views.ProblemsFile.as_view(),
        name="transfer-problems",
    ),
]
