from django.urls import path

from studio.api import class_views as views

urlpatterns = [
    path("measures/", views.Measures.as_view(), name="api-measures"),
    path("measures/<slug:code>/", views.Measure.as_view(), name="api-measure"),
    path("measure-sets/", views.MeasureSets.as_view(), name="api-measure-sets"),
    path("measure-sets/<slug:code>/", views.MeasureSet.as_view(), name="api-measure-set"),
    path("courses/", views.Courses.as_view(), name="api-courses"),
    path("courses/<uuid:course_id>/", views.Course.as_view(), name="api-course"),
    path("courses/<uuid:course_id>/students/", views.Students.as_view(), name="api-course-students"),
    path(
        "courses/<uuid:course_id>/students/<uuid:client_id>/",
        views.Student.as_view(),
        name="api-course-student",
    ),
    path("courses/<uuid:course_id>/grid/", views.Grid.as_view(), name="api-course-grid"),
    path("courses/<uuid:course_id>/sheets/", views.Sheets.as_view(), name="api-course-sheets"),
    path(
        "courses/<uuid:course_id>/sheets/<uuid:file_id>/pdf/",
        views.SheetPdf.as_view(),
        name="api-course-sheet-pdf",
    ),
]
