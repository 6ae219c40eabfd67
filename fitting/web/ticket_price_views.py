"""The studio's own price list, and its currency."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect

from fitting.calc.money import parse_money
from fitting.queries.garments import kinds
from fitting.queries.prices import counter_of, price_lines
from fitting.services import prices
from fitting.web.base import FittingPage
from fitting.web.ticket_forms import CurrencyForm, PriceForm
from studio.platform.errors import Refused
from studio.platform.rights import Right


class Prices(FittingPage):
    """The list, and one more line for who may change it."""

    rights = {"GET": Right.KEEP_GARMENTS, "POST": Right.KEEP_PRICES}

    def get(self, request: HttpRequest, form: PriceForm | None = None) -> HttpResponse:
        return self._show(form)

    def post(self, request: HttpRequest) -> HttpResponse:
        form = self._form(request.POST)
        if form.is_valid():
            given = form.cleaned_data
            kept = self.attempt(
                form,
                prices.set_price,
                job=given["job"],
                kind=given["kind"],
                words=given["words"],
                minor=given["price"],
            )
            if kept:
                return self.done("The price is on the list.", "fitting:prices")
        return self._show(form)

    def _form(self, data: object = None) -> PriceForm:
        return PriceForm(data, kinds=kinds(), currency=counter_of(self.actor).currency)

    def _show(self, form: PriceForm | None = None, currency_form: CurrencyForm | None = None) -> HttpResponse:
        counter = counter_of(self.actor)
        bad = form or currency_form
        return self.page(
            "fitting/ticket/prices.html",
            lines=price_lines(self.actor),
            may_change=self.actor.may(Right.KEEP_PRICES),
            currency=counter.currency,
            form=form or self._form(),
            currency_form=currency_form or CurrencyForm(initial={"currency": counter.currency}),
            status=400 if bad and bad.errors else 200,
        )


class ChooseCurrency(Prices):
    def post(self, request: HttpRequest) -> HttpResponse:
        form = CurrencyForm(request.POST)
        if form.is_valid():
            kept = self.attempt(form, prices.choose_currency, currency=form.cleaned_data["currency"])
            if kept is None:
                return self._show(currency_form=form)
            return self.done("The currency is kept.", "fitting:prices")
        return self._show(currency_form=form)


class ChangePrice(FittingPage):
    """A line's price, or whether it is asked any more."""

    right = Right.KEEP_PRICES

    def post(self, request: HttpRequest, price_id: UUID) -> HttpResponse:
        if "active" in request.POST:
            kept = self.try_or_tell(prices.change_price, price_id, active=request.POST["active"] == "yes")
        else:
            kept = self.try_or_tell(self._typed, price_id, request.POST.get("price", ""))
        if kept is None:
            return redirect("fitting:prices")
        return self.done("The list is changed.", "fitting:prices")

    @staticmethod
    def _typed(actor: object, price_id: UUID, text: str) -> object:
        from fitting.queries.prices import counter_of as counter

        try:
            minor = parse_money(text, counter(actor).currency)  # type: ignore[arg-type]
        except ValueError as exc:
            raise Refused({"price": str(exc)}) from exc
        return prices.change_price(actor, price_id, minor=minor)  # type: ignore[arg-type]
