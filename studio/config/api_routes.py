"""The API's routes by wing, its OpenAPI document and the interactive description (served from here, no CDN)."""

from django.urls import include, path
from django.views.decorators.cache import cache_page
from drf_spectacular.views import SpectacularAPIView

from studio.platform.api.docs import InteractiveDocs

urlpatterns = [
    path("", include("studio.platform.api.routes")),
    path("", include("studio.api.routes")),
    path("", include("seamlab.api.routes")),
    path("", include("fitting.api.routes")),
    # Making the document takes seconds and it changes with the version alone.
    path("openapi.yaml", cache_page(3600)(SpectacularAPIView.as_view()), name="openapi"),
    path("docs/", InteractiveDocs.as_view(url_name="openapi"), name="api-docs"),
]
