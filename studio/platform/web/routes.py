from django.urls import path

from studio.platform.web import account_views, sign_in_views, studio_views, views

app_name = "platform"
urlpatterns = [
    path("", views.Home.as_view(), name="home"),
    path("sign-in/", sign_in_views.SignIn.as_view(), name="sign-in"),
    path("sign-in/second/", sign_in_views.SecondStep.as_view(), name="second-step"),
    path("sign-in/passkey/", sign_in_views.PasskeyQuestion.as_view(), name="passkey-question"),
    path("sign-out/", sign_in_views.SignOut.as_view(), name="sign-out"),
    path("forgotten/", sign_in_views.Forgotten.as_view(), name="forgotten"),
    path("new-password/<str:uid>/<str:token>/", sign_in_views.NewPassword.as_view(), name="new-password"),
    path("account/", account_views.Account.as_view(), name="account"),
    path("account/password/", account_views.ChangePassword.as_view(), name="change-password"),
    path("account/codes/", account_views.CodeApp.as_view(), name="code-app"),
    path("account/codes/remove/", account_views.RemoveCodeApp.as_view(), name="remove-code-app"),
    path("account/passkeys/", account_views.AddPasskey.as_view(), name="add-passkey"),
    path("account/passkeys/question/", account_views.PasskeyToMake.as_view(), name="passkey-to-make"),
    path(
        "account/passkeys/<uuid:passkey_id>/remove/",
        account_views.RemovePasskey.as_view(),
        name="remove-passkey",
    ),
    path("account/recovery/", account_views.RecoveryCodes.as_view(), name="recovery-codes"),
    path("account/visits/", account_views.EndVisits.as_view(), name="end-visits"),
    path("studios/", views.ChooseStudio.as_view(), name="choose-studio"),
    path("studio/", studio_views.StudioPage.as_view(), name="studio"),
    path("colour/<str:colour>.css", studio_views.ColourSheet.as_view(), name="colour"),
    path("members/", views.Members.as_view(), name="members"),
    path("members/<uuid:member_id>/", views.ChangeMember.as_view(), name="change-member"),
    path("members/<uuid:member_id>/help/", views.HelpMember.as_view(), name="help-member"),
    path("members/second-step/", views.AskSecondStep.as_view(), name="ask-second-step"),
    path("tokens/", views.Tokens.as_view(), name="tokens"),
    path("jobs/", views.Jobs.as_view(), name="jobs"),
    path("jobs/<uuid:job_id>/", views.JobPage.as_view(), name="job"),
    path("begin/<str:secret>/", views.Setup.as_view(), name="setup"),
    path("join/<str:signed>/", views.Join.as_view(), name="join"),
    path("health/live", views.live, name="live"),
    path("health/ready", views.ready, name="ready"),
]
