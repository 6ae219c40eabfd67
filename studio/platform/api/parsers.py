"""JSON as it comes in: what can't be read is a problem, however strangely it is written."""

from typing import Any

from rest_framework.exceptions import ParseError
from rest_framework.parsers import JSONParser


class HouseJSONParser(JSONParser):
    """DRF's parser; nesting without end and the character NUL are refused in a sentence."""

    def parse(self, stream: Any, media_type: Any = None, parser_context: Any = None) -> Any:
        try:
            found = super().parse(stream, media_type, parser_context)
        except RecursionError:
            raise ParseError("This JSON is nested too deeply.") from None
        if _holds_nul(found):
            raise ParseError("The character NUL can't be kept: leave it out.")
        return found


def _holds_nul(value: Any) -> bool:
    if isinstance(value, str):
        return "\x00" in value
    if isinstance(value, dict):
        return any(_holds_nul(part) for pair in value.items() for part in pair)
    return isinstance(value, list) and any(map(_holds_nul, value))
