from django.urls import path

from studio.web import transfer_views as views

urlpatterns = [
    path("transfer/", views.Transfer.as_view(), name="transfer"),
    path("transfer/export/", views.AskExport.as_view(), name="transfer-export"),
    path("transfer/exports/<uuid:export_id>/file/", views.ExportFile.as_view(), name="export-file"),
    path("transfer/imports/<uuid:import_id>/", views.Import.as_view(), name="transfer-import"),
    path("transfer/imports/<uuid:import_id>/columns/", views.Columns.as_view(), name="transfer-columns"),
    path(
        "transfer/imports/<uuid:import_id>/problems.csv",
        views.ProblemsFile.as_view(),
        name="transfer-problems",
    ),
]
