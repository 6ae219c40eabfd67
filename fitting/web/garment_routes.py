from django.urls import path

from fitting.web import agreement_views as agreement
from fitting.web import class_report_views as together
from fitting.web import garment_views as views
from fitting.web import report_views as reports
from fitting.web import session_views as sessions

urlpatterns = [
    path("bench/", views.Bench.as_view(), name="bench"),
    path("garments/new/", views.NewGarment.as_view(), name="new-garment"),
    path("garments/<uuid:garment_id>/", views.GarmentPage.as_view(), name="garment"),
    path("garments/<uuid:garment_id>/change/", views.ChangeGarment.as_view(), name="change-garment"),
    path(
        "garments/<uuid:garment_id>/checkpoints/", views.AnswerCheckpoint.as_view(), name="answer-checkpoint"
    ),
    path("garments/<uuid:garment_id>/seams/", views.ChooseSeam.as_view(), name="choose-seam"),
    path("garments/<uuid:garment_id>/fittings/new/", sessions.NewSession.as_view(), name="new-session"),
    path("garments/<uuid:garment_id>/reports/new/", reports.NewReport.as_view(), name="new-report"),
    path("garments/<uuid:garment_id>/reports/", reports.AskReport.as_view(), name="ask-report"),
    path("fittings/<uuid:session_id>/", sessions.SessionPage.as_view(), name="session"),
    path("fittings/<uuid:session_id>/note/", sessions.NewNote.as_view(), name="new-note"),
    path("fittings/<uuid:session_id>/carry/", sessions.CarryToPaper.as_view(), name="carry-to-paper"),
    path("fittings/<uuid:session_id>/sign-off/", sessions.SignOffSession.as_view(), name="sign-off"),
    path("fittings/<uuid:session_id>/agree/", agreement.Agree.as_view(), name="agree"),
    path("fit-notes/<uuid:note_id>/decision/", sessions.Decide.as_view(), name="decide"),
    path("fit-notes/<uuid:note_id>/photos/", sessions.AddPhoto.as_view(), name="add-fit-photo"),
    path("fit-photos/<uuid:photo_id>/", sessions.Photo.as_view(), name="fit-photo"),
    path("fit-photos/<uuid:photo_id>/take-away/", sessions.TakePhotoAway.as_view(), name="take-photo-away"),
    path("reports/<uuid:report_id>/", reports.ReportPage.as_view(), name="report"),
    path("reports/<uuid:report_id>/pdf/", reports.ReportPdf.as_view(), name="report-pdf"),
    path("class-reports/", together.ClassReports.as_view(), name="class-reports"),
    path("class-reports/<uuid:batch_id>/", together.ReportBatch.as_view(), name="report-batch"),
    path("report-links/<uuid:link_id>/send/", reports.SendLink.as_view(), name="send-link"),
    path("report-links/<uuid:link_id>/revoke/", reports.RevokeLink.as_view(), name="revoke-link"),
    path("fit/<str:signed>/", reports.ClientLink.as_view(), name="client-link"),
    path("fit/<str:signed>/pdf/", reports.ClientLinkPdf.as_view(), name="client-link-pdf"),
    path("learnt/", reports.Learnt.as_view(), name="learnt"),
    path("past-fits/", reports.PastFits.as_view(), name="past-fits"),
]
