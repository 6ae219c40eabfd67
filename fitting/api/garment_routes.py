from django.urls import path

from fitting.api import class_report_views as together
from fitting.api import garment_views as views
from fitting.api import session_views as sessions

urlpatterns = [
    path("garments/", views.Garments.as_view(), name="garment-list"),
    path("garments/<uuid:garment_id>/", views.GarmentRead.as_view(), name="garment-read"),
    path("garments/<uuid:garment_id>/seams/", views.GarmentSeams.as_view(), name="garment-seams"),
    path(
        "garments/<uuid:garment_id>/checkpoints/",
        views.GarmentCheckpoints.as_view(),
        name="garment-checkpoints",
    ),
    path("garments/<uuid:garment_id>/sessions/", sessions.GarmentSessions.as_view(), name="garment-sessions"),
    path(
        "garments/<uuid:garment_id>/report-preview/",
        views.ReportPreview.as_view(),
        name="garment-report-preview",
    ),
    path("garments/<uuid:garment_id>/reports/", views.GarmentReports.as_view(), name="garment-reports"),
    path("fitting-sessions/<uuid:session_id>/", sessions.SessionRead.as_view(), name="fitting-session-read"),
    path(
        "fitting-sessions/<uuid:session_id>/notes/",
        sessions.SessionNotes.as_view(),
        name="fitting-session-notes",
    ),
    path(
        "fitting-sessions/<uuid:session_id>/sign-off/",
        sessions.SessionSignOff.as_view(),
        name="fitting-session-sign-off",
    ),
    path(
        "fitting-sessions/<uuid:session_id>/agreement/",
        sessions.SessionAgreement.as_view(),
        name="fitting-session-agreement",
    ),
    path("fit-signs/", sessions.FitSigns.as_view(), name="fit-signs"),
    path("fit-notes/<uuid:note_id>/photos/", sessions.NotePhotos.as_view(), name="fit-note-photos"),
    path("fit-photos/<uuid:photo_id>/", sessions.FitPhoto.as_view(), name="fit-photo"),
    path("fit-notes/<uuid:note_id>/decision/", sessions.NoteDecision.as_view(), name="fit-note-decision"),
    path("fit-reports/<uuid:report_id>/", views.ReportRead.as_view(), name="fit-report-read"),
    path("fit-reports/<uuid:report_id>/pdf/", views.ReportPdf.as_view(), name="fit-report-pdf"),
    path("fit-reports/<uuid:report_id>/links/", views.ReportLinks.as_view(), name="fit-report-links"),
    path("report-batches/", together.ReportBatches.as_view(), name="report-batch-list"),
    path("report-batches/<uuid:batch_id>/", together.ReportBatchRead.as_view(), name="report-batch-read"),
    path("report-links/<uuid:link_id>/", views.ReportLink.as_view(), name="report-link"),
    path("past-fits/", views.PastFits.as_view(), name="past-fits-find"),
]
