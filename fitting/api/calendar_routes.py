from django.urls import path

from fitting.api import calendar_views as views

urlpatterns = [
    path("appointments/", views.Appointments.as_view(), name="appointments"),
    path("appointments/<uuid:appointment_id>/", views.AppointmentRead.as_view(), name="appointment"),
    path(
        "garments/<uuid:garment_id>/appointments/",
        views.GarmentAppointments.as_view(),
        name="garment-appointments",
    ),
]
