from django.urls import path

from fitting.web import lay_table_views as table
from fitting.web import lay_views as views
from fitting.web import outline_measure_views as measures
from fitting.web import outline_views as outlines

urlpatterns = [
    path("patterns/<uuid:pattern_id>/outlines/", outlines.Outlines.as_view(), name="outlines"),
    path(
        "patterns/<uuid:pattern_id>/outlines/measures/",
        measures.OutlineMeasuresPage.as_view(),
        name="outline-measures",
    ),
    path(
        "patterns/<uuid:pattern_id>/outlines/pieces/<uuid:piece_id>/",
        measures.PieceGauges.as_view(),
        name="piece-gauges",
    ),
    path(
        "patterns/<uuid:pattern_id>/outlines/pieces/<uuid:piece_id>/remove/",
        measures.RemovePiece.as_view(),
        name="remove-piece",
    ),
    path("outlines/<uuid:file_id>/", outlines.DrawingPage.as_view(), name="outline-file"),
    path("lays/", views.Lays.as_view(), name="lays"),
    path("lays/new/", views.NewLay.as_view(), name="new-lay"),
    path("lays/<uuid:lay_id>/", views.LayPage.as_view(), name="lay"),
    path("lays/<uuid:lay_id>/by-hand/", table.ByHand.as_view(), name="lay-by-hand"),
    path("lays/<uuid:lay_id>/sheets/", views.AskLaySheet.as_view(), name="ask-lay-sheet"),
    path("lays/<uuid:lay_id>/sheets/<uuid:sheet_id>/", views.LaySheetPdf.as_view(), name="lay-sheet"),
    path("lays/<uuid:lay_id>/grain/<str:key>/<int:copy>/", table.Grain.as_view(), name="grain"),
    path("remnants/", views.Remnants.as_view(), name="remnants"),
]
