from django.urls import path

from seamlab.api import sheet_views as views

urlpatterns = [
    path("sample-sheets/", views.SampleSheets.as_view(), name="api-sample-sheets"),
    path("sample-sheets/<uuid:sheet_id>/", views.SampleSheet.as_view(), name="api-sample-sheet"),
    path(
        "sample-sheets/<uuid:sheet_id>/file/", views.SampleSheetFile.as_view(), name="api-sample-sheet-file"
    ),
]
