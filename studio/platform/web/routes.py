from django.urls import path

from studio.platform.web import studio_views, views

app_name = "platform"
urlpatterns = [
    path("", views.Home.as_view(), name="home"),
    path("sign-in/", views.SignIn.as_view(), name="sign-in"),
    path("sign-out/", views.SignOut.as_view(), name="sign-out"),
    path("studios/", views.ChooseStudio.as_view(), name="choose-studio"),
    path("studio/", studio_views.StudioPage.as_view(), name="studio"),
    path("colour/<str:colour>.css", studio_views.ColourSheet.as_view(), name="colour"),
    path("members/", views.Members.as_view(), name="members"),
    path("members/<uuid:member_id>/", views.ChangeMember.as_view(), name="change-member"),
    path("tokens/", views.Tokens.as_view(), name="tokens"),
    path("jobs/", views.Jobs.as_view(), name="jobs"),
    path("jobs/<uuid:job_id>/", views.JobPage.as_view(), name="job"),
    path("begin/<str:secret>/", views.Setup.as_view(), name="setup"),
    path("join/<str:signed>/", views.Join.as_view(), name="join"),
    path("health/live", views.live, name="live"),
    path("health/ready", views.ready, name="ready"),
]
