"""The id of the request or job in hand, for audit entries and log lines."""

from contextvars import ContextVar

_request_id: ContextVar[str] = ContextVar("request_id", default="")


def current_request_id() -> str:
    return _request_id.get()


def set_request_id(value: str) -> object:
    return _request_id.set(value)
