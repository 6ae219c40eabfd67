from django.urls import path

from studio.web import choice_views, course_views

urlpatterns = [
    path("measures/", choice_views.Measures.as_view(), name="measures"),
    path("measures/new/", choice_views.NewMeasure.as_view(), name="new-measure"),
    path("measures/<slug:code>/hide/", choice_views.HideMeasure.as_view(), name="hide-measure"),
    path("measures/<slug:code>/figure/", choice_views.MeasureFigure.as_view(), name="measure-figure"),
    path("sets/", choice_views.Sets.as_view(), name="sets"),
    path("sets/new/", choice_views.NewSet.as_view(), name="new-set"),
    path("sets/<slug:code>/", choice_views.EditSet.as_view(), name="edit-set"),
    path("sets/<slug:code>/hide/", choice_views.HideSet.as_view(), name="hide-set"),
    path("courses/", course_views.Courses.as_view(), name="courses"),
    path("courses/new/", course_views.NewCourse.as_view(), name="new-course"),
    path("courses/<uuid:course_id>/", course_views.Course.as_view(), name="course"),
    path("courses/<uuid:course_id>/edit/", course_views.EditCourse.as_view(), name="edit-course"),
    path("courses/<uuid:course_id>/enrol/<uuid:client_id>/", course_views.Enrol.as_view(), name="enrol"),
    path("courses/<uuid:course_id>/leave/<uuid:client_id>/", course_views.Leave.as_view(), name="leave"),
    path("courses/<uuid:course_id>/day/", course_views.ClassDay.as_view(), name="class-day"),
    path("courses/<uuid:course_id>/day/changes/", course_views.ClassChanges.as_view(), name="class-changes"),
    path(
        "courses/<uuid:course_id>/day/<uuid:client_id>/", course_views.ClassLine.as_view(), name="class-line"
    ),
    path("courses/<uuid:course_id>/sheets/", course_views.AskSheet.as_view(), name="ask-sheet"),
    path("courses/<uuid:course_id>/sheets/<uuid:job_id>/", course_views.Sheet.as_view(), name="sheet"),
    path(
        "courses/<uuid:course_id>/sheets/<uuid:file_id>/pdf/",
        course_views.SheetPdf.as_view(),
        name="sheet-pdf",
    ),
]
