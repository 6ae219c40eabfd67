from django.urls import path

from fitting.api import ticket_views as views

urlpatterns = [
    path("alteration-jobs/", views.AlterationJobs.as_view(), name="alteration-job-list"),
    path("counter/", views.CounterRead.as_view(), name="counter-read"),
    path("prices/", views.Prices.as_view(), name="price-list"),
    path("prices/<uuid:price_id>/", views.PriceRead.as_view(), name="price-read"),
    path("tickets/", views.Tickets.as_view(), name="ticket-list"),
    path("tickets/found/", views.TicketFound.as_view(), name="ticket-found"),
    path("tickets/<uuid:ticket_id>/", views.TicketRead.as_view(), name="ticket-read"),
    path("tickets/<uuid:ticket_id>/state/", views.TicketState.as_view(), name="ticket-state"),
    path("tickets/<uuid:ticket_id>/jobs/", views.TicketJobs.as_view(), name="ticket-job-list"),
    path(
        "tickets/<uuid:ticket_id>/jobs/<uuid:job_id>/", views.TicketJobRead.as_view(), name="ticket-job-read"
    ),
    path("tickets/<uuid:ticket_id>/payments/", views.TicketPayments.as_view(), name="ticket-payment-list"),
    path(
        "tickets/<uuid:ticket_id>/payments/<uuid:payment_id>/correction/",
        views.PaymentCorrection.as_view(),
        name="ticket-payment-correction",
    ),
    path("tickets/<uuid:ticket_id>/hand-over/", views.TicketHandOver.as_view(), name="ticket-hand-over"),
    path("tickets/<uuid:ticket_id>/notices/", views.TicketNotices.as_view(), name="ticket-notice-list"),
    path("tickets/<uuid:ticket_id>/slips/", views.TicketSlips.as_view(), name="ticket-slip-list"),
    path(
        "tickets/<uuid:ticket_id>/slips/<uuid:slip_id>/pdf/",
        views.TicketSlipPdf.as_view(),
        name="ticket-slip-pdf",
    ),
]
