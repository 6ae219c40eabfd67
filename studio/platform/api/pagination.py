"""Cursor pages: ids are UUIDv7, so ordering by id is ordering by time, unique and unchanging."""

from typing import Any

from rest_framework.pagination import CursorPagination


class NewestFirst(CursorPagination):
    page_size = 50
    page_size_query_param = "page_size"
    max_page_size = 200
    ordering = "-id"

    def get_paginated_response_schema(self, schema: dict[str, Any]) -> dict[str, Any]:
        described = super().get_paginated_response_schema(schema)
        described["properties"]["next"]["example"] = "https://studio.example/api/v1/clients/?cursor=cD0yMDI2"
        described["properties"]["previous"]["example"] = None
        return described
