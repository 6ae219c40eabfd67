from django.urls import path

from seamlab.web import cloth_views, seam_views, supply_views

app_name = "seamlab"
urlpatterns = [
    path("cloth/", cloth_views.Cloths.as_view(), name="cloths"),
    path("cloth/new/", cloth_views.NewCloth.as_view(), name="new-cloth"),
    path("cloth/<uuid:cloth_id>/", cloth_views.ClothPage.as_view(), name="cloth"),
    path("cloth/<uuid:cloth_id>/change/", cloth_views.EditCloth.as_view(), name="edit-cloth"),
    path("cloth/<uuid:cloth_id>/test/<str:kind>/", cloth_views.TestCloth.as_view(), name="test-cloth"),
    path("seams/", seam_views.Recipes.as_view(), name="recipes"),
    path("seams/new/", seam_views.NewRecipe.as_view(), name="new-recipe"),
    path("seams/supplies/", supply_views.Supplies.as_view(), name="supplies"),
    path("seams/trials/new/", seam_views.NewTrial.as_view(), name="new-trial"),
    path("seams/trials/<uuid:trial_id>/", seam_views.TrialPage.as_view(), name="trial"),
    path("seams/<uuid:recipe_id>/", seam_views.RecipePage.as_view(), name="recipe"),
    path("seams/<uuid:recipe_id>/change/", seam_views.ChangeRecipe.as_view(), name="change-recipe"),
]
