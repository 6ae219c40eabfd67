from django.urls import path

from seamlab.api import transfer_views as views

urlpatterns = [
    path("seam-table-imports/", views.SeamTableImports.as_view(), name="api-seam-table-imports"),
    path(
        "seam-table-imports/<uuid:import_id>/", views.SeamTableImport.as_view(), name="api-seam-table-import"
    ),
    path(
        "seam-table-imports/<uuid:import_id>/take-over/",
        views.SeamTableTakeOver.as_view(),
        name="api-seam-table-take-over",
    ),
    path("seam-table-exports/", views.SeamTableExports.as_view(), name="api-seam-table-exports"),
    path(
        "seam-table-exports/<uuid:export_id>/", views.SeamTableExport.as_view(), name="api-seam-table-export"
    ),
    path(
        "seam-table-exports/<uuid:export_id>/file/",
        views.SeamTableExportFile.as_view(),
        name="api-seam-table-export-file",
    ),
]
