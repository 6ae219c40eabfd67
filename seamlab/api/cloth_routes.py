from django.urls import path

from seamlab.api import cloth_views, shelf_views, supply_views

urlpatterns = [
    path("cloths/", cloth_views.Cloths.as_view(), name="api-cloths"),
    path("cloths/<uuid:cloth_id>/", cloth_views.Cloth.as_view(), name="api-cloth"),
    path(
        "cloths/<uuid:cloth_id>/stretch-tests/", cloth_views.StretchTests.as_view(), name="api-stretch-tests"
    ),
    path("cloths/<uuid:cloth_id>/wash-tests/", cloth_views.WashTests.as_view(), name="api-wash-tests"),
    path("cloths/<uuid:cloth_id>/lab-figures/", shelf_views.LabFigures.as_view(), name="api-lab-figures"),
    path("cloths/<uuid:cloth_id>/lab-reading/", shelf_views.LabReading.as_view(), name="api-lab-reading"),
    path("cloths/<uuid:cloth_id>/photos/", shelf_views.ClothPhotos.as_view(), name="api-cloth-photos"),
    path("cloth-photos/<uuid:photo_id>/", shelf_views.ClothPhoto.as_view(), name="api-cloth-photo"),
    path("cloth-kinds/", cloth_views.ClothKinds.as_view(), name="api-cloth-kinds"),
    path("bolts/", shelf_views.Bolts.as_view(), name="api-bolts"),
    path("bolts/<uuid:bolt_id>/", shelf_views.Bolt.as_view(), name="api-bolt"),
    path("bolts/<uuid:bolt_id>/records/", shelf_views.BoltRecords.as_view(), name="api-bolt-records"),
    path("threads/", supply_views.Threads.as_view(), name="api-threads"),
    path("threads/<uuid:thread_id>/", supply_views.Thread.as_view(), name="api-thread"),
    path("needles/", supply_views.Needles.as_view(), name="api-needles"),
    path("needles/<uuid:needle_id>/", supply_views.Needle.as_view(), name="api-needle"),
    path("machines/", supply_views.Machines.as_view(), name="api-machines"),
    path("machines/<uuid:machine_id>/", supply_views.Machine.as_view(), name="api-machine"),
    path(
        "machines/<uuid:machine_id>/services/",
        supply_views.MachineServices.as_view(),
        name="api-machine-services",
    ),
    path("stitch-types/", supply_views.StitchTypes.as_view(), name="api-stitch-types"),
    path("thread-sizes/", supply_views.ThreadSizes.as_view(), name="api-thread-sizes"),
]
