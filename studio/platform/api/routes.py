from django.urls import path

from studio.platform.api import views

urlpatterns = [
    path("me/", views.Me.as_view(), name="api-me"),
    path("jobs/", views.Jobs.as_view(), name="api-jobs"),
    path("jobs/<uuid:job_id>/", views.Job.as_view(), name="api-job"),
    path("jobs/<uuid:job_id>/cancel/", views.CancelJob.as_view(), name="api-job-cancel"),
    path("jobs/<uuid:job_id>/retry/", views.RetryJob.as_view(), name="api-job-retry"),
    path("studio/", views.Studio.as_view(), name="api-studio"),
    path("members/", views.Members.as_view(), name="api-members"),
    path("audit/", views.Audit.as_view(), name="api-audit"),
]
