"""The API's routes by wing, its OpenAPI document and the interactive description (served from here, no CDN)."""

from django.urls import include, path
from drf_spectacular.views import SpectacularAPIView

from studio.platform.api.docs import InteractiveDocs

urlpatterns = [
    path("", include("studio.platform.api.routes")),
    path("", include("studio.api.routes")),
    path("", include("seamlab.api.routes")),
    path("", include("fitting.api.routes")),
    path("openapi.yaml", SpectacularAPIView.as_view(), name="openapi"),
    path("docs/", InteractiveDocs.as_view(url_name="openapi"), name="api-docs"),
]
