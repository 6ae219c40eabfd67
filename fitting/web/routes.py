"""Pages of this wing: the paper's and the garments'."""

from fitting.web import garment_routes, paper_routes, seam_routes

app_name = "fitting"
urlpatterns = [*paper_routes.urlpatterns, *garment_routes.urlpatterns, *seam_routes.urlpatterns]
