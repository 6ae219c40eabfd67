"""Pages for what went wrong: one calm sentence each, and a way back."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from studio.platform.requests import current_request_id


def error_page(request: HttpRequest, status: int, title: str, sentence: str) -> HttpResponse:
    return render(
        request,
        "platform/error.html",
        {"title": title, "sentence": sentence, "request_id": current_request_id()},
        status=status,
    )


def _is_api(request: HttpRequest) -> bool:
    return request.path.startswith("/api/")


def _problem(status: int, kind: str, detail: str) -> HttpResponse:
    from django.http import JsonResponse

    from studio.platform.api.problems import MEDIA_TYPE, problem

    return JsonResponse(problem(status, kind, detail, detail), status=status, content_type=MEDIA_TYPE)


def out_of_order(request: HttpRequest, status: int, kind: str, title: str, exc: Exception) -> HttpResponse:
    sentence = str(exc)
    return (
        _problem(status, kind, sentence) if _is_api(request) else error_page(request, status, title, sentence)
    )


def bad_request(request: HttpRequest, exception: Any = None) -> HttpResponse:
    sentence = "This request could not be read."
    return (
        _problem(400, "bad-request", sentence)
        if _is_api(request)
        else error_page(request, 400, "Not read", sentence)
    )


def not_allowed(request: HttpRequest, exception: Any = None) -> HttpResponse:
    sentence = str(exception) if exception else "This is not included in your role."
    if _is_api(request):
        return _problem(403, "not-allowed", sentence)
    return error_page(request, 403, "Not included in your role", sentence)


def not_here(request: HttpRequest, exception: Any = None) -> HttpResponse:
    sentence = "There is nothing at this address, or it belongs to somebody else."
    return (
        _problem(404, "not-here", sentence)
        if _is_api(request)
        else error_page(request, 404, "Not here", sentence)
    )


def our_fault(request: HttpRequest) -> HttpResponse:
    sentence = "Something went wrong on our side. Nothing was saved by halves; please try again."
    if _is_api(request):
        return _problem(500, "our-fault", sentence)
    return error_page(request, 500, "Our fault", sentence)


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    sentence = "This form was open for too long or came from another page. Load the page again and repeat."
    return (
        _problem(403, "csrf", sentence)
        if _is_api(request)
        else error_page(request, 403, "Form too old", sentence)
    )
