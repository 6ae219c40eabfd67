"""Pages about seams: answers, recipes, the library, trials, samples side by side, stitches."""

from django.urls import path

from seamlab.web import answer_views, comparison_views, seam_views, trial_views

urlpatterns = [
    path("seams/", seam_views.Recipes.as_view(), name="recipes"),
    path("seams/new/", seam_views.NewRecipe.as_view(), name="new-recipe"),
    path("seams/which/", answer_views.Answers.as_view(), name="answers"),
    path("seams/library/", answer_views.LibraryPage.as_view(), name="library"),
    path("seams/library/take-in/", answer_views.TakeInLibrary.as_view(), name="take-in-library"),
    path("seams/stitches/", answer_views.Stitches.as_view(), name="stitches"),
    path("seams/stitches/<str:code>/", answer_views.Stitches.as_view(), name="stitch"),
    path("seams/trials/new/", trial_views.NewTrial.as_view(), name="new-trial"),
    path("seams/trials/<uuid:trial_id>/", trial_views.TrialPage.as_view(), name="trial"),
    path("seams/trials/<uuid:trial_id>/photos/", trial_views.TrialPhotos.as_view(), name="trial-photos"),
    path(
        "seams/trials/<uuid:trial_id>/withdraw/", trial_views.WithdrawTrial.as_view(), name="withdraw-trial"
    ),
    path("seams/photos/<uuid:photo_id>/", trial_views.TrialPhotoFile.as_view(), name="trial-photo"),
    path("seams/photos/<uuid:photo_id>/hide/", trial_views.HideTrialPhoto.as_view(), name="hide-trial-photo"),
    path("seams/side-by-side/", comparison_views.Compare.as_view(), name="compare"),
    path("seams/side-by-side/keep/", comparison_views.KeepComparison.as_view(), name="keep-comparison"),
    path("seams/comparisons/", comparison_views.Comparisons.as_view(), name="comparisons"),
    path(
        "seams/comparisons/<uuid:comparison_id>/",
        comparison_views.ComparisonPage.as_view(),
        name="comparison",
    ),
    path(
        "seams/comparisons/<uuid:comparison_id>/conclude/",
        comparison_views.Conclude.as_view(),
        name="conclude",
    ),
    path(
        "seams/comparisons/<uuid:comparison_id>/lay/",
        comparison_views.LaySamples.as_view(),
        name="lay-samples",
    ),
    path(
        "seams/comparisons/<uuid:comparison_id>/put-away/",
        comparison_views.PutAwayComparison.as_view(),
        name="put-away-comparison",
    ),
    path("seams/<uuid:recipe_id>/", seam_views.RecipePage.as_view(), name="recipe"),
    path("seams/<uuid:recipe_id>/put-away/", seam_views.PutAwayRecipe.as_view(), name="put-away-recipe"),
    path("seams/<uuid:recipe_id>/describe/", seam_views.DescribeRecipe.as_view(), name="describe-recipe"),
    path("seams/<uuid:recipe_id>/change/", seam_views.ChangeRecipe.as_view(), name="change-recipe"),
]
