from django.urls import path

from studio.api import transfer_views as views

urlpatterns = [
    path("reading-imports/", views.ReadingImports.as_view(), name="api-reading-imports"),
    path("reading-imports/<uuid:import_id>/", views.ReadingImport.as_view(), name="api-reading-import"),
    path(
        "reading-imports/<uuid:import_id>/mapping/",
        views.ReadingImportMapping.as_view(),
        name="api-reading-import-mapping",
    ),
    path(
        "reading-imports/<uuid:import_id>/check/",
        views.ReadingImportCheck.as_view(),
        name="api-reading-import-check",
    ),
    path(
        "reading-imports/<uuid:import_id>/take-over/",
        views.ReadingImportTakeOver.as_view(),
        name="api-reading-import-take-over",
    ),
    path(
        "reading-imports/<uuid:import_id>/problems/",
        views.ReadingImportProblems.as_view(),
        name="api-reading-import-problems",
    ),
    path("reading-exports/", views.ReadingExports.as_view(), name="api-reading-exports"),
    path("reading-exports/<uuid:export_id>/", views.ReadingExport.as_view(), name="api-reading-export"),
    path(
        "reading-exports/<uuid:export_id>/file/",
        views.ReadingExportFile.as_view(),
        name="api-reading-export-file",
    ),
]
