from django.urls import path

from fitting.api import lay_views as lays
from fitting.api import outline_measure_views as measures
from fitting.api import outline_views as outlines

urlpatterns = [
    path("patterns/<uuid:pattern_id>/outlines/", outlines.PatternOutlines.as_view(), name="outline-list"),
    path(
        "patterns/<uuid:pattern_id>/outline-measures/",
        measures.OutlineMeasuresRead.as_view(),
        name="outline-measures",
    ),
    path(
        "patterns/<uuid:pattern_id>/pieces/<uuid:piece_id>/",
        measures.PieceRemove.as_view(),
        name="piece-remove",
    ),
    path("outlines/<uuid:outline_id>/gauges/", measures.OutlineGauges.as_view(), name="outline-gauges"),
    path("patterns/<uuid:pattern_id>/drawings/", outlines.PatternDrawings.as_view(), name="drawing-list"),
    path("drawings/<uuid:file_id>/", outlines.DrawingRead.as_view(), name="drawing-read"),
    path("drawings/<uuid:file_id>/use/", outlines.DrawingUse.as_view(), name="drawing-use"),
    path("garments/<uuid:garment_id>/lays/", lays.GarmentLays.as_view(), name="garment-lays"),
    path("lays/", lays.Lays.as_view(), name="lay-list"),
    path("lays/<uuid:lay_id>/", lays.LayRead.as_view(), name="lay-read"),
    path("lays/<uuid:lay_id>/search/", lays.LaySearch.as_view(), name="lay-search"),
    path("lays/<uuid:lay_id>/drawings/", lays.LayDrawings.as_view(), name="lay-drawings"),
    path("lays/<uuid:lay_id>/chosen/", lays.LayChosen.as_view(), name="lay-chosen"),
    path("lays/<uuid:lay_id>/cut/", lays.LayCut.as_view(), name="lay-cut"),
    path("lays/<uuid:lay_id>/on-remnant/", lays.LayOnRemnant.as_view(), name="lay-on-remnant"),
    path("lays/<uuid:lay_id>/grain-checks/", lays.LayGrainChecks.as_view(), name="lay-grain-checks"),
    path("lays/<uuid:lay_id>/grain-changes/", lays.LayGrainChanges.as_view(), name="lay-grain-changes"),
    path("lays/<uuid:lay_id>/sheets/", lays.LaySheets.as_view(), name="lay-sheets"),
    path("lays/<uuid:lay_id>/sheets/<uuid:sheet_id>/pdf/", lays.LaySheet.as_view(), name="lay-sheet-pdf"),
    path("remnants/", lays.Remnants.as_view(), name="remnant-list"),
    path("remnants/<uuid:remnant_id>/gone/", lays.RemnantGone.as_view(), name="remnant-gone"),
]
