from django.urls import path

from fitting.web import calendar_views as views

urlpatterns = [
    path("calendar/", views.CalendarPage.as_view(), name="calendar"),
    path("calendar/addresses/", views.MakeFeed.as_view(), name="make-feed"),
    path("calendar/addresses/<uuid:feed_id>/revoke/", views.RevokeFeed.as_view(), name="revoke-feed"),
    path("calendar/<str:signed>/fittings.ics", views.Feed.as_view(), name="calendar-feed"),
    path("garments/<uuid:garment_id>/agree/", views.NewAppointment.as_view(), name="agree-fitting"),
    path("agreed/<uuid:appointment_id>/", views.MoveAppointment.as_view(), name="move-fitting"),
    path("agreed/<uuid:appointment_id>/call-off/", views.CallOff.as_view(), name="call-off-fitting"),
]
