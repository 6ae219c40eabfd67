from django.urls import path

from seamlab.api import cloth_views, seam_views, supply_views

urlpatterns = [
    path("cloths/", cloth_views.Cloths.as_view(), name="api-cloths"),
    path("cloths/<uuid:cloth_id>/", cloth_views.Cloth.as_view(), name="api-cloth"),
    path(
        "cloths/<uuid:cloth_id>/stretch-tests/", cloth_views.StretchTests.as_view(), name="api-stretch-tests"
    ),
    path("cloths/<uuid:cloth_id>/wash-tests/", cloth_views.WashTests.as_view(), name="api-wash-tests"),
    path("cloths/<uuid:cloth_id>/proven-seams/", seam_views.ProvenSeams.as_view(), name="api-proven-seams"),
    path("threads/", supply_views.Threads.as_view(), name="api-threads"),
    path("needles/", supply_views.Needles.as_view(), name="api-needles"),
    path("machines/", supply_views.Machines.as_view(), name="api-machines"),
    path("stitch-types/", supply_views.StitchTypes.as_view(), name="api-stitch-types"),
    path("thread-sizes/", supply_views.ThreadSizes.as_view(), name="api-thread-sizes"),
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
