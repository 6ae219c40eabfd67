from django.urls import path

from seamlab.api import sample_views, seam_views

urlpatterns = [
    path("cloths/<uuid:cloth_id>/proven-seams/", seam_views.ProvenSeams.as_view(), name="api-proven-seams"),
    path("cloths/<uuid:cloth_id>/seam-answers/", sample_views.SeamAnswers.as_view(), name="api-seam-answers"),
    path("seam-library/", sample_views.SeamLibrary.as_view(), name="api-seam-library"),
    path("seam-recipes/", seam_views.SeamRecipes.as_view(), name="api-seam-recipes"),
    path("seam-recipes/<uuid:recipe_id>/", seam_views.SeamRecipe.as_view(), name="api-seam-recipe"),
    path(
        "seam-recipes/<uuid:recipe_id>/versions/",
        seam_views.SeamRecipeVersions.as_view(),
        name="api-seam-recipe-versions",
    ),
    path(
        "seam-versions/<uuid:version_id>/knit-checklist/",
        sample_views.KnitChecklist.as_view(),
        name="api-knit-checklist",
    ),
    path("seam-trials/", seam_views.SeamTrials.as_view(), name="api-seam-trials"),
    path("seam-trials/<uuid:trial_id>/", seam_views.SeamTrial.as_view(), name="api-seam-trial"),
    path("seam-trials/<uuid:trial_id>/photos/", sample_views.TrialPhotos.as_view(), name="api-trial-photos"),
    path(
        "seam-trials/<uuid:trial_id>/withdrawal/",
        sample_views.TrialWithdrawal.as_view(),
        name="api-trial-withdrawal",
    ),
    path("trial-photos/<uuid:photo_id>/", sample_views.TrialPhoto.as_view(), name="api-trial-photo"),
    path("seam-comparisons/", sample_views.Comparisons.as_view(), name="api-seam-comparisons"),
    path(
        "seam-comparisons/<uuid:comparison_id>/",
        sample_views.Comparison.as_view(),
        name="api-seam-comparison",
    ),
    path(
        "seam-comparisons/<uuid:comparison_id>/conclusions/",
        sample_views.Conclusions.as_view(),
        name="api-seam-conclusions",
    ),
]
