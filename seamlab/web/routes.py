from django.urls import path

from seamlab.web import cloth_views, supply_views
from seamlab.web.seam_routes import urlpatterns as seam_patterns
from seamlab.web.transfer_routes import urlpatterns as transfer_patterns

app_name = "seamlab"
urlpatterns = [
    path("cloth/", cloth_views.Cloths.as_view(), name="cloths"),
    path("cloth/new/", cloth_views.NewCloth.as_view(), name="new-cloth"),
    path("cloth/<uuid:cloth_id>/", cloth_views.ClothPage.as_view(), name="cloth"),
    path("cloth/<uuid:cloth_id>/change/", cloth_views.EditCloth.as_view(), name="edit-cloth"),
    path("cloth/<uuid:cloth_id>/test/<str:kind>/", cloth_views.TestCloth.as_view(), name="test-cloth"),
    *transfer_patterns,
    *seam_patterns,
    path("seams/supplies/", supply_views.Supplies.as_view(), name="supplies"),
]
