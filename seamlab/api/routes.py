from django.urls import path

from seamlab.api import views

urlpatterns = [
    path("cloths/", views.Cloths.as_view(), name="api-cloths"),
    path("cloths/<uuid:cloth_id>/", views.Cloth.as_view(), name="api-cloth"),
    path("cloths/<uuid:cloth_id>/stretch-tests/", views.StretchTests.as_view(), name="api-stretch-tests"),
    path("cloths/<uuid:cloth_id>/wash-tests/", views.WashTests.as_view(), name="api-wash-tests"),
    path("cloths/<uuid:cloth_id>/proven-seams/", views.ProvenSeams.as_view(), name="api-proven-seams"),
    path("threads/", views.Threads.as_view(), name="api-threads"),
    path("needles/", views.Needles.as_view(), name="api-needles"),
    path("machines/", views.Machines.as_view(), name="api-machines"),
    path("stitch-types/", views.StitchTypes.as_view(), name="api-stitch-types"),
    path("thread-sizes/", views.ThreadSizes.as_view(), name="api-thread-sizes"),
    path("seam-recipes/", views.SeamRecipes.as_view(), name="api-seam-recipes"),
    path("seam-recipes/<uuid:recipe_id>/", views.SeamRecipe.as_view(), name="api-seam-recipe"),
    path(
        "seam-recipes/<uuid:recipe_id>/versions/",
        views.SeamRecipeVersions.as_view(),
        name="api-seam-recipe-versions",
    ),
    path("seam-trials/", views.SeamTrials.as_view(), name="api-seam-trials"),
    path("seam-trials/<uuid:trial_id>/", views.SeamTrial.as_view(), name="api-seam-trial"),
]
