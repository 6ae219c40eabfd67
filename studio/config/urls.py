"""Every route of the house: pages at the root, the API under /api/v1/."""

from django.urls import include, path

urlpatterns = [
    path("", include("studio.platform.web.routes")),
    path("", include("studio.web.routes")),
    path("", include("seamlab.web.routes")),
    path("", include("fitting.web.routes")),
    path("api/v1/", include("studio.config.api_routes")),
]

handler400 = "studio.platform.web.errors.bad_request"
handler403 = "studio.platform.web.errors.not_allowed"
handler404 = "studio.platform.web.errors.not_here"
handler500 = "studio.platform.web.errors.our_fault"
