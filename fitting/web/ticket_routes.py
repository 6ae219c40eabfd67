from django.urls import path

from fitting.web import ticket_act_views as acts
from fitting.web import ticket_price_views as prices
from fitting.web import ticket_views as views

urlpatterns = [
    path("find/", views.Find.as_view(), name="find"),
    path("tickets/", views.Tickets.as_view(), name="tickets"),
    path("tickets/new/", views.Intake.as_view(), name="new-ticket"),
    path("tickets/<uuid:ticket_id>/", views.TicketPage.as_view(), name="ticket"),
    path("tickets/<uuid:ticket_id>/change/", acts.ChangeTicket.as_view(), name="change-ticket"),
    path("tickets/<uuid:ticket_id>/state/", acts.MoveTicket.as_view(), name="move-ticket"),
    path("tickets/<uuid:ticket_id>/jobs/new/", acts.AddJob.as_view(), name="add-ticket-job"),
    path("tickets/<uuid:ticket_id>/jobs/<uuid:job_id>/", acts.SettleJob.as_view(), name="settle-ticket-job"),
    path("tickets/<uuid:ticket_id>/payments/", acts.Pay.as_view(), name="pay-ticket"),
    path(
        "tickets/<uuid:ticket_id>/payments/<uuid:payment_id>/correct/",
        acts.CorrectPayment.as_view(),
        name="correct-payment",
    ),
    path("tickets/<uuid:ticket_id>/hand-over/", acts.HandOver.as_view(), name="hand-over-ticket"),
    path("tickets/<uuid:ticket_id>/tell/", acts.TellReady.as_view(), name="tell-ready"),
    path("tickets/<uuid:ticket_id>/slips/", acts.AskSlip.as_view(), name="ask-slip"),
    path("tickets/<uuid:ticket_id>/slips/<uuid:slip_id>/", acts.SlipPdf.as_view(), name="slip-pdf"),
    path("slips/<str:code>/", views.SlipCode.as_view(), name="slip-code"),
    path("prices/", prices.Prices.as_view(), name="prices"),
    path("prices/currency/", prices.ChooseCurrency.as_view(), name="choose-currency"),
    path("prices/<uuid:price_id>/", prices.ChangePrice.as_view(), name="change-price"),
]
