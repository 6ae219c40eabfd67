"""Pages about cloth, what lies on the shelf, and what a seam is sewn with."""

from django.urls import path

from seamlab.web import cloth_views, shelf_views, supply_views

urlpatterns = [
    path("cloth/", cloth_views.Cloths.as_view(), name="cloths"),
    path("cloth/new/", cloth_views.NewCloth.as_view(), name="new-cloth"),
    path("cloth/bolts/", shelf_views.Bolts.as_view(), name="bolts"),
    path("cloth/bolts/<uuid:bolt_id>/", shelf_views.BoltPage.as_view(), name="bolt"),
    path("cloth/bolts/<uuid:bolt_id>/change/", shelf_views.EditBolt.as_view(), name="edit-bolt"),
    path("cloth/bolts/<uuid:bolt_id>/put-away/", shelf_views.PutAwayBolt.as_view(), name="put-away-bolt"),
    path("cloth/photos/<uuid:photo_id>/", shelf_views.ClothPhoto.as_view(), name="cloth-photo"),
    path(
        "cloth/photos/<uuid:photo_id>/take-away/",
        shelf_views.HideClothPhoto.as_view(),
        name="hide-cloth-photo",
    ),
    path("cloth/<uuid:cloth_id>/", cloth_views.ClothPage.as_view(), name="cloth"),
    path("cloth/<uuid:cloth_id>/change/", cloth_views.EditCloth.as_view(), name="edit-cloth"),
    path("cloth/<uuid:cloth_id>/put-away/", cloth_views.PutAwayCloth.as_view(), name="put-away-cloth"),
    path("cloth/<uuid:cloth_id>/test/<str:kind>/", cloth_views.TestCloth.as_view(), name="test-cloth"),
    path("cloth/<uuid:cloth_id>/laboratory/", shelf_views.Laboratory.as_view(), name="laboratory"),
    path("cloth/<uuid:cloth_id>/pictures/", shelf_views.ClothPhotos.as_view(), name="cloth-photos"),
    path("cloth/<uuid:cloth_id>/bolts/new/", shelf_views.NewBolt.as_view(), name="new-bolt"),
    path("seams/supplies/", supply_views.Supplies.as_view(), name="supplies"),
    path("seams/supplies/<str:what>/<uuid:supply_id>/", supply_views.Supply.as_view(), name="supply"),
    path(
        "seams/supplies/<str:what>/<uuid:supply_id>/put-away/",
        supply_views.PutAwaySupply.as_view(),
        name="put-away-supply",
    ),
    path(
        "seams/supplies/machine/<uuid:machine_id>/serviced/",
        supply_views.ServiceMachine.as_view(),
        name="service-machine",
    ),
    path("seams/tables/", supply_views.Tables.as_view(), name="tables"),
]
