from django.urls import path

from seamlab.api import cloth_routes, seam_views, transfer_routes

urlpatterns = [
    *cloth_routes.urlpatterns,
    *transfer_routes.urlpatterns,
    path("cloths/<uuid:cloth_id>/proven-seams/", seam_views.ProvenSeams.as_view(), name="api-proven-seams"),
    path("seam-recipes/", seam_views.SeamRecipes.as_view(), name="api-seam-recipes"),
    path("seam-recipes/<uuid:recipe_id>/", seam_views.SeamRecipe.as_view(), name="api-seam-recipe"),
    path(
        "seam-recipes/<uuid:recipe_id>/versions/",
        seam_views.SeamRecipeVersions.as_view(),
        name="api-seam-recipe-versions",
    ),
    path("seam-trials/", seam_views.SeamTrials.as_view(), name="api-seam-trials"),
    path("seam-trials/<uuid:trial_id>/", seam_views.SeamTrial.as_view(), name="api-seam-trial"),
]
