"""The API of this wing: the paper's and the garments'."""

from fitting.api import calendar_routes, garment_routes, lay_routes, paper_routes, seam_routes, ticket_routes

urlpatterns = [
    *calendar_routes.urlpatterns,
    *paper_routes.urlpatterns,
    *lay_routes.urlpatterns,
    *garment_routes.urlpatterns,
    *seam_routes.urlpatterns,
    *ticket_routes.urlpatterns,
]
