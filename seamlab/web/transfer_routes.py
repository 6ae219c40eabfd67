from django.urls import path

from seamlab.web import transfer_views as views

urlpatterns = [
    path("seams/tables/", views.Transfer.as_view(), name="transfer"),
    path("seams/tables/export/", views.AskExport.as_view(), name="transfer-export"),
    path("seams/tables/exports/<uuid:export_id>/file/", views.ExportFile.as_view(), name="export-file"),
    path("seams/tables/imports/<uuid:import_id>/", views.Import.as_view(), name="transfer-import"),
    path(
        "seams/tables/imports/<uuid:import_id>/problems.csv",
        views.ProblemsFile.as_view(),
        name="transfer-problems",
    ),
]
