from seamlab.api import cloth_routes, seam_routes, transfer_routes

urlpatterns = [
    *cloth_routes.urlpatterns,
    *transfer_routes.urlpatterns,
    *seam_routes.urlpatterns,
]
