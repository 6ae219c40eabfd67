from seamlab.api import cloth_routes, seam_routes, sheet_routes, transfer_routes

urlpatterns = [
    *cloth_routes.urlpatterns,
    *transfer_routes.urlpatterns,
    *sheet_routes.urlpatterns,
    *seam_routes.urlpatterns,
]
